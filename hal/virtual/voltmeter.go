package virtual

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// The independent meter: what it takes for a reading, and how finely it shows it.
const (
	meterPeriod = 0.4   // s
	meterStep   = 0.001 // V
	meterNoise  = 0.004 // V, one standard deviation
)

// cellMeter is an independent voltmeter across the cell: behind the contactor, where the
// supply's own meter does not see. Its noise is its own, so that nothing else on the
// bench depends on whether it hangs there.
type cellMeter struct {
	gain, offset float64
	silent       bool
	volts        float64
	at           time.Duration // of the bench, of the reading; below 0 before the first
	next         float64       // s of the bench
	random       *rand.Rand
}

func newCellMeter(seed uint64) cellMeter {
	return cellMeter{gain: 1, at: -1, random: rand.New(rand.NewPCG(seed, 0x6d65746572))}
}

// sample takes a reading where one is due.
func (m *cellMeter) sample(b *Bench) {
	now := b.body.Seconds()
	if !b.setup.Voltmeter || now < m.next-1e-9 {
		return
	}
	m.next = now + meterPeriod
	noise := meterNoise * m.random.NormFloat64()
	if m.silent {
		return
	}
	m.volts = math.Round((m.gain*b.body.CellVolts()+m.offset+noise)/meterStep) * meterStep
	m.at = b.now
}

// voltmeter is the meter as a device.
type voltmeter struct{ bench *Bench }

// Voltmeter is the independent meter across the cell; nil where Setup.Voltmeter is not
// set.
func (b *Bench) Voltmeter() hal.Voltmeter {
	if !b.setup.Voltmeter {
		return nil
	}
	return voltmeter{b}
}

func (v voltmeter) Voltage(ctx context.Context) (unit.Volts, time.Time, error) {
	b := v.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return unit.Volts(math.NaN()), time.Time{}, fmt.Errorf("reading the voltmeter: %w", err)
	}
	volts, at, err := b.cellVolts()
	return unit.Volts(volts), at, err
}

func (b *Bench) cellVolts() (float64, time.Time, error) {
	m := &b.cellMeter
	at := Epoch.Add(m.at)
	switch {
	case m.silent:
		return math.NaN(), at, fmt.Errorf("reading the voltmeter: %w: check its cable", hal.ErrTimeout)
	case m.at < 0:
		return math.NaN(), at, fmt.Errorf("reading the voltmeter: %w: nothing read yet", hal.ErrNoReading)
	}
	return m.volts, at, nil
}

// MeterVolts is what the voltmeter shows, not a number for no reading. It must be used
// inside [Bench.Exchange].
func (b *Bench) MeterVolts() float64 {
	volts, _, _ := b.cellVolts() // its error is in the number
	return volts
}

// meterKinds are what can be wrong with the independent meter.
var meterKinds = []kind{
	{id: "meter-gain", what: "the independent voltmeter reads too much or too little", size: 1.02, unit: "times", lasts: ever,
		begin: func(b *Bench, f *armed) { b.cellMeter.gain = f.Size },
		end:   func(b *Bench, _ *armed) { b.cellMeter.gain = 1 }},
	{id: "meter-offset", what: "the independent voltmeter is off by so much", size: 0.3, unit: "V", lasts: ever,
		begin: func(b *Bench, f *armed) { b.cellMeter.offset = f.Size },
		end:   func(b *Bench, _ *armed) { b.cellMeter.offset = 0 }},
	{id: "meter-silent", what: "the independent voltmeter does not answer", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.cellMeter.silent = true },
		end:   func(b *Bench, _ *armed) { b.cellMeter.silent = false }},
}
