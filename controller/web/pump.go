package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"anodized/controller"
	"anodized/controller/record"
)

// The times of the pump.
const (
	lookEvery   = 100 * time.Millisecond // for a new snapshot
	stallsAfter = 2 * time.Second        // without one
	mostStreams = 128
	eventRoom   = 1000
)

// pump follows the Station once for all clients: a snapshot is written as JSON once,
// however many watch.
type pump struct {
	station Station
	painter *painter
	counted func(controller.Event) // gets every event, for the totals

	mu      sync.Mutex
	queues  map[*queue]struct{}
	tick    uint64
	version uint64    // of the snapshot that was sent last
	moved   time.Time // when the tick was last seen to change
	running bool
	last    *record.Result // of this process
}

func newPump(station Station, p *painter) *pump {
	return &pump{station: station, painter: p, queues: map[*queue]struct{}{}}
}

func (p *pump) run(ctx context.Context) {
	events, leave := p.station.Subscribe(eventRoom)
	defer leave()
	look := time.NewTicker(lookEvery)
	defer look.Stop()
	p.look()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
			p.look()
		case event, open := <-events:
			if !open {
				events = nil // the Station has ended; what was last known can still be seen
				continue
			}
			p.event(event)
		}
	}
}

// look sends the snapshot where it is a new one.
func (p *pump) look() {
	now := p.station.Snapshot()
	p.mu.Lock()
	fresh := !p.running || now.Version != p.version
	if !p.running || now.Tick != p.tick {
		p.moved = time.Now()
	}
	p.tick, p.version, p.running = now.Tick, now.Version, true
	queues, last := p.watching(), p.last
	p.mu.Unlock()
	if !fresh || len(queues) == 0 {
		return
	}
	for _, m := range p.messages(now, last) {
		for _, q := range queues {
			q.put(m)
		}
	}
}

// watching are those who follow, as they are now.
func (p *pump) watching() []*queue {
	list := make([]*queue, 0, len(p.queues))
	for q := range p.queues {
		list = append(list, q)
	}
	return list
}

// messages are a snapshot in both forms.
func (p *pump) messages(now *controller.Snapshot, last *record.Result) []message {
	return []message{
		{kindSnapshot, now.Tick, compact(now)},
		{kindNow, now.Tick, compact(p.painter.view(now, last))},
	}
}

func (p *pump) event(event controller.Event) {
	p.counted(event)
	m := message{kind: kindEvent, data: compact(event)}
	if event.Kind == controller.KindResult {
		m = message{kind: kindResult, data: compact(event.Result)}
	}
	p.mu.Lock()
	if event.Kind == controller.KindResult {
		p.last = event.Result
	}
	queues := p.watching()
	p.mu.Unlock()
	for _, q := range queues {
		q.put(m)
	}
}

// join lets a client follow, with the present snapshot first; false where there are
// too many.
func (p *pump) join(q *queue) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.queues) >= mostStreams {
		return false
	}
	for _, m := range p.messages(p.station.Snapshot(), p.last) {
		q.put(m)
	}
	p.queues[q] = struct{}{}
	return true
}

func (p *pump) leave(q *queue) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.queues, q)
}

// result is the last one of this process, nil before the first.
func (p *pump) result() *record.Result {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.last
}

// stalled says that the loop which owns the bench stands still, "" where it does not.
func (p *pump) stalled() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.running || p.tick == 0 {
		return "the loop of the bench has not begun"
	}
	if still := time.Since(p.moved); still > stallsAfter {
		return fmt.Sprintf("the loop of the bench has stood still for %.1f s", still.Seconds())
	}
	return ""
}

// compact is JSON on one line, as a stream needs it.
func compact(value any) []byte {
	var text bytes.Buffer
	encoder := json.NewEncoder(&text)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		text.Reset()
		fmt.Fprintf(&text, `{"error":%q}`, "not to be written as JSON: "+err.Error())
	}
	return bytes.TrimSpace(text.Bytes())
}
