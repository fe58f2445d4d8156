package campaign_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"anodized/controller"
	"anodized/controller/process"
)

// trace is when each one on the way from the lid to the wire had its turn, as times since
// the opening.
type trace struct {
	took   time.Duration // first byte of off at the far end of the wire
	called time.Duration // the lid's call, the stop, or the module's answer was there
	tick   time.Duration // the tick with the off began
	stall  time.Duration // how late a bare timer of this process was in that time
	queue  time.Duration // the longest that a thread of this process waited for a processor
	good   time.Duration // the module's last good answer, before the opening; 0: not polled
	halted time.Duration // the Station called for off
	last   asking        // what the supply was asked before that
}

// asking is one question to the supply, as times since the opening.
type asking struct {
	what         string
	began, ended time.Duration
}

// ours is what is left where a bare timer would have been in time.
func (t trace) ours() time.Duration { return max(0, t.took-t.stall) }

func (t trace) String() string {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	way := fmt.Sprintf("%.1f ms: called after %.1f, its tick after %.1f; a bare timer was %.1f late then, a thread waited %.1f for a processor",
		ms(t.took), ms(t.called), ms(t.tick), ms(t.stall), ms(t.queue))
	if t.good != 0 {
		way += fmt.Sprintf("; the lid's last good answer at %.1f, old at %.1f", ms(t.good), ms(t.good+time.Duration(float64(process.LidAge)*1e9)))
	}
	return way + fmt.Sprintf("; %s from %.1f to %.1f; off called for at %.1f", t.last.what, ms(t.last.began), ms(t.last.ended), ms(t.halted))
}

// moment keeps the first time at which something happened since it was armed.
type moment struct{ at atomic.Int64 }

const notYet, disarmed = 0, -1

func (m *moment) arm()    { m.at.Store(notYet) }
func (m *moment) disarm() { m.at.Store(disarmed) }
func (m *moment) now()    { m.at.CompareAndSwap(notYet, time.Now().UnixNano()) }

func (m *moment) since(began time.Time) time.Duration {
	if at := m.at.Load(); at > 0 {
		return time.Duration(at - began.UnixNano())
	}
	return 0
}

// tracedPacer is the Station's own pacer, ten times a second, but quick until the lid is
// closed, which is not what is measured here. It notes what is asked of it.
type tracedPacer struct {
	*controller.Ticker
	slow         atomic.Bool
	called, tick moment
}

const (
	usualPeriod = 100 * time.Millisecond
	quickPeriod = 5 * time.Millisecond
)

func newTracedPacer() (*tracedPacer, error) {
	ticker, err := controller.NewTicker(quickPeriod)
	p := &tracedPacer{Ticker: ticker}
	p.called.disarm()
	p.tick.disarm()
	return p, err
}

// Next paces by what is wanted now. The first tick after a call is the one with the off.
func (p *tracedPacer) Next(ctx context.Context) (time.Time, error) {
	period := quickPeriod
	if p.slow.Load() {
		period = usualPeriod
	}
	p.Ticker.Pace(period)
	at, err := p.Ticker.Next(ctx)
	if p.called.at.Load() > 0 {
		p.tick.now()
	}
	return at, err
}

// Pace is not taken from the Station: these links are quick.
func (p *tracedPacer) Pace(time.Duration) {}

// Hasten is where the goroutine of the lid, or of a person's stop, has come through.
func (p *tracedPacer) Hasten() {
	p.called.now()
	p.Ticker.Hasten()
}

// bareTimer is a goroutine that does nothing but wait, and keeps how late it woke: what
// this computer and the runtime do to anybody.
type bareTimer struct {
	mu    sync.Mutex
	woken []waking
}

type waking struct {
	due  time.Time
	late time.Duration
}

const bareEvery = 2 * time.Millisecond

func (t *bareTimer) run(ctx context.Context) {
	for timer := time.NewTimer(bareEvery); ; timer.Reset(bareEvery) {
		due := time.Now().Add(bareEvery)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		t.mu.Lock()
		t.woken = append(t.woken, waking{due, max(0, time.Since(due))})
		t.mu.Unlock()
	}
}

// during is for how long the timer was overdue between these times, at a stretch. A waking
// that is still awaited counts, too.
func (t *bareTimer) during(began, ended time.Time) (late time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	overdue := func(from, to time.Time) { late = max(late, minTime(to, ended).Sub(maxTime(from, began))) }
	for i := len(t.woken) - 1; i >= 0; i-- {
		w := t.woken[i]
		woke := w.due.Add(w.late)
		if i == len(t.woken)-1 {
			overdue(woke.Add(bareEvery), ended) // none has woken since
		}
		if woke.Before(began) {
			break
		}
		overdue(w.due, woke)
	}
	return late
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func maxTime(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// late are all wakings.
func (t *bareTimer) late() []time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	all := make([]time.Duration, len(t.woken))
	for i, w := range t.woken {
		all[i] = w.late
	}
	return all
}
