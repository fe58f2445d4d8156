package campaign

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"anodized/controller/colour"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// Chaos is a run of disorder: readings that are any float at all, errors of any sort, ticks
// that come when they like, people who press everything, faults of any kind.
type Chaos struct {
	Ticks    int     // how many the disorder lasts
	Readings float64 // share of readings that are any float
	Errors   float64 // share of exchanges that fail
	Gaps     float64 // share of ticks that come up to five seconds late
	People   float64 // orders a tick
	Faults   float64 // faults of the timetable a tick
}

// disordered draws a run of disorder on a load of the spread.
func disordered(seed uint64, surface *colour.Surface) Case {
	c := Healthy(seed, surface, Spread{})
	d := draw{rand.New(rand.NewPCG(seed, stream+4))}
	share := func(most float64) float64 { return pick(d, 0, d.decades(1e-4, most)) }
	c.Setup.Voltmeter = d.IntN(2) == 0
	c.Setup.PersonStays = true
	c.Chaos = &Chaos{Ticks: 200 + d.IntN(1000), Readings: share(1), Errors: share(0.5), Gaps: share(0.5), People: share(0.5), Faults: share(0.05)}
	return c
}

// chaos is the disorder of one run.
type chaos struct {
	*Chaos
	draw
	pace *pacer
}

func newChaos(c *Case, p *pacer) *chaos {
	made := &chaos{Chaos: c.Chaos, draw: draw{rand.New(rand.NewPCG(c.Seed, stream+5))}, pace: p}
	p.chaos = made
	return made
}

func (c *chaos) chance(share float64) bool { return share > 0 && c.Float64() < share }

// float is any float: often one that software is caught by.
func (c *chaos) float() float64 {
	switch c.IntN(4) {
	case 0:
		return pick(c.draw, math.NaN(), math.Inf(1), math.Inf(-1), 9.91e37, 9.9e37, -9.9e37, 1e9, 0, math.Copysign(0, -1), math.MaxFloat64, math.SmallestNonzeroFloat64)
	case 1:
		return math.Float64frombits(c.Uint64())
	case 2:
		return c.between(-10, 200)
	}
	return c.between(-0.1, 2)
}

// failure is an error of any sort that a driver may give.
func (c *chaos) failure() error {
	return fmt.Errorf("disorder: %w", pick(c.draw, hal.ErrTimeout, hal.ErrGone, hal.ErrDesync, hal.ErrNoReading, hal.ErrMismatch,
		hal.ErrLocal, hal.ErrRelinked, hal.ErrTripped, hal.ErrRefused, hal.ErrRange))
}

func (c *chaos) sample(s hal.Sample, err error) (hal.Sample, error) {
	if c.chance(c.Errors) {
		return s, c.failure()
	}
	if err == nil && c.chance(c.Readings) {
		s.Volts, s.Amperes, s.Mode = unit.Volts(c.float()), unit.Amperes(c.float()), hal.Mode(c.IntN(256))
	}
	return s, err
}

func (c *chaos) state(s hal.State, err error) (hal.State, error) {
	if c.chance(c.Errors) {
		return s, c.failure()
	}
	if err == nil && c.chance(c.Readings/10) {
		s.SetVolts, s.LimitAmperes = unit.Volts(c.float()), unit.Amperes(c.float())
		s.Output, s.Restarted = c.IntN(2) == 0, c.IntN(2) == 0
	}
	return s, err
}

// lid spoils the readings of the lid switch, towards open alone: what says closed of an
// open lid is a fault of two contacts at once.
func (c *chaos) lid(of hal.Interlock) hal.Interlock { return chaosLid{of, c} }

type chaosLid struct {
	hal.Interlock
	chaos *chaos
}

func (l chaosLid) Channels(ctx context.Context) (hal.Channels, error) {
	channels, err := l.Interlock.Channels(ctx)
	if l.chaos.chance(l.chaos.Errors / 20) {
		return channels, l.chaos.failure()
	}
	if l.chaos.chance(l.chaos.Errors / 20) {
		channels.Closed[l.chaos.IntN(2)] = false
	}
	return channels, err
}

func (c *chaos) bath(of hal.Thermometer) hal.Thermometer { return chaosBath{of, c} }

type chaosBath struct {
	hal.Thermometer
	chaos *chaos
}

func (b chaosBath) Temperature(ctx context.Context) (unit.Celsius, time.Time, error) {
	celsius, at, err := b.Thermometer.Temperature(ctx)
	if b.chaos.chance(b.chaos.Readings / 10) {
		celsius = unit.Celsius(b.chaos.float())
	}
	return celsius, at, err
}

// meddle does what people and faults do between two ticks.
func (c *chaos) meddle() {
	p := c.pace
	if c.chance(c.Gaps) {
		gap := time.Duration(c.between(0, 5) * float64(time.Second))
		p.due += gap
	}
	if c.chance(c.Faults) {
		f := virtual.Fault{ID: pick(c.draw, virtual.FaultIDs()...), For: time.Duration(c.decades(1e-3, 60) * float64(time.Second))}
		p.report.disorder = append(p.report.disorder, f.ID)
		p.inject(f)
	}
	if c.chance(c.People) {
		c.person()
	}
}

// person presses something. What means nothing now is refused or dropped.
func (c *chaos) person() {
	s, audit := c.pace.station, c.pace.run.audit
	switch c.IntN(6) {
	case 0, 1:
		if s.Start(c.pace.run.request()) == nil {
			audit.starts = 1
		}
	case 2:
		s.Stop(c.IntN(2) == 0, "somebody pressed it")
	case 3:
		_ = s.Answer(c.IntN(2) == 0) // without a question it is refused, and says so
	case 4:
		_ = s.Acknowledge("somebody") // without a trip likewise
	case 5:
		c.pace.run.bench.NextRack()
	}
}

func (c *chaos) over() bool { return c.pace.ticks > c.Ticks }
