package virtual

import (
	"context"
	"math/rand/v2"
	"sync"
	"time"

	"anodized/hal/virtual/plant"
)

// Epoch is when every simulated clock starts, so that the same seed gives the same bytes.
var Epoch = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)

// Bench is one virtual bench. Its devices share it and may be used from several
// goroutines; the clock should be moved by one.
type Bench struct {
	mu    sync.Mutex
	setup Setup
	body  *plant.Plant
	now   time.Duration // since Epoch
	began time.Time     // real time of the first tick
	first time.Duration // what it was called

	registers registers
	link      link
	lid       lid
	chain     chain
	air       air
	cellMeter cellMeter
	lamps     [lampCount]bool
	person    person
	stays     stays
	faults    []*armed
	beside    beside
	stuck     bool // the output will not go off

	energised bool    // the output was on since the rack went in
	onAt      float64 // s, the first energised second of this rack
	roseAt    float64 // s, when the setpoint last rose
	offAt     float64 // s, when the output was last switched off; below 0 before
	chatter   chatter
	noise     *rand.Rand // of spoilt answers

	supply      supply
	left        left // in the registers, by the supply in memory
	interlock   interlock
	thermometer thermometer
}

// New builds a bench from its setup, with the lid closed and the output off. The
// person opens the lid after one simulated second and closes it after three.
func New(setup Setup) (*Bench, error) {
	setup = setup.withDefaults()
	if err := setup.check(); err != nil {
		return nil, err
	}
	parts, err := setup.hang()
	if err != nil {
		return nil, err
	}
	body, err := plant.New(*setup.Parameters, parts, setup.Seed)
	if err != nil {
		return nil, err
	}
	b := &Bench{setup: setup, body: body, chatter: newChatter(setup.Seed), noise: newNoise(setup.Seed), chain: newChain(), cellMeter: newCellMeter(setup.Seed)}
	b.lid, b.stays, b.offAt = newLid(), newStays(), -1
	b.body.Part(setup.Chain)
	b.resetRegisters()
	b.supply, b.interlock, b.thermometer = supply{bench: b}, interlock{b}, thermometer{b}
	for _, f := range setup.Faults {
		if err := b.Inject(f); err != nil {
			return nil, err
		}
	}
	if !setup.PersonWaits {
		b.person.hangs(0)
	}
	b.settle(0)
	return b, nil
}

// Now is the simulated clock.
func (b *Bench) Now() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return Epoch.Add(b.now)
}

// Next moves the simulated clock by one tick. With a speed above zero it then
// waits until that tick is due in real time.
func (b *Bench) Next(ctx context.Context) (time.Time, error) {
	if err := ctx.Err(); err != nil {
		return time.Time{}, err
	}
	b.mu.Lock()
	b.advance(b.now + b.setup.Tick)
	now := b.now
	b.mu.Unlock()
	return Epoch.Add(now), b.pace(ctx, now)
}

func (b *Bench) pace(ctx context.Context, now time.Duration) error {
	if b.setup.Speed == 0 {
		return nil
	}
	if b.began.IsZero() {
		b.began, b.first = time.Now(), now
	}
	due := b.began.Add(time.Duration(float64(now-b.first) / b.setup.Speed))
	timer := time.NewTimer(time.Until(due))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}
