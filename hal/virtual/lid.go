package virtual

import (
	"context"
	"fmt"
	"math"
	"time"

	"anodized/hal"
)

const (
	opensAfter  = 1.0 // s after a rack was called for
	closesAfter = 3.0 // s
)

// lid is the lid and its two contacts. It may be held open by several at once.
type lid struct {
	open   int
	forced [2]bool
	says   [2]bool
	gone   bool

	changed chan struct{} // capacity one
	told    [2]bool       // what the channels said when it was told last
	from    [2]float64    // s, when each opened last
	opened  [2]time.Duration
}

func newLid() lid { return lid{changed: make(chan struct{}, 1), told: [2]bool{true, true}} }

func (l *lid) closed() [2]bool {
	var closed [2]bool
	for i := range closed {
		closed[i] = l.open == 0
		if l.forced[i] {
			closed[i] = l.says[i]
		}
	}
	return closed
}

// force makes a channel (1, 2 or AllParts) say what the lid does not.
func (l *lid) force(channel int, closed bool) {
	for i := range l.forced {
		if channel == AllParts || channel == i+1 {
			l.forced[i], l.says[i] = true, closed
		}
	}
}

func (l *lid) free(channel int) {
	for i := range l.forced {
		if channel == AllParts || channel == i+1 {
			l.forced[i] = false
		}
	}
}

// person opens the lid, hangs a rack and closes it.
type person struct {
	opens, closes float64 // s of the bench
	there         bool    // has something to do
	inside        bool    // has the lid open
	racks         int
}

func (p *person) hangs(now float64) {
	p.there = true
	p.opens, p.closes = now+opensAfter, now+closesAfter
}

// next lets the person act and returns when that is again.
func (p *person) next(b *Bench, now float64) float64 {
	if p.there && !p.inside && p.opens <= now {
		p.inside = true
		b.lid.open++
		b.changeRack()
	}
	if p.inside && p.closes <= now {
		p.inside, p.there = false, false
		b.lid.open--
		b.stays.closed = now
	}
	switch {
	case p.inside:
		return p.closes
	case p.there:
		return p.opens
	}
	return math.Inf(1)
}

// changeRack hangs parts like the first ones. The first rack is there already.
func (b *Bench) changeRack() {
	b.person.racks++
	if b.person.racks == 1 {
		return
	}
	b.endRackFaults()
	b.registers.tripped = ""
	b.energised = false
	b.body.Hang()
}

// NextRack calls the person, who opens the lid after a second, hangs new parts
// like the first ones, and closes it after three. Faults that hung with the old
// rack are gone. A call while the person is at it changes nothing.
func (b *Bench) NextRack() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.person.there {
		b.person.hangs(b.body.Seconds())
	}
}

// interlock is the lid switch as a device.
type interlock struct{ bench *Bench }

// Interlock is the lid switch.
func (b *Bench) Interlock() hal.Interlock { return b.interlock }

func (i interlock) Channels(ctx context.Context) (hal.Channels, error) {
	b := i.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return hal.Channels{}, fmt.Errorf("reading the lid switch: %w", err)
	}
	if b.lid.gone {
		return hal.Channels{}, fmt.Errorf("reading the lid switch: %w: check its cable", hal.ErrGone)
	}
	return hal.Channels{Closed: b.lid.closed(), At: b.time(), Opened: b.lid.opened}, nil
}

func (b *Bench) time() time.Time { return Epoch.Add(b.now) }
