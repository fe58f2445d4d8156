package analog

import (
	"context"
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
	"anodized/hal/analog/chip"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

// TestOpeningMakesAllSafe: a supply that was left on is off, its inputs are zero.
func TestOpeningMakesAllSafe(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{enabled: true, codes: [2]int{3000, 3000}}
		open(t, b, nil)
		require.False(t, b.enabled)
		require.Equal(t, [2]int{}, b.codes)
	})
}

func TestOpeningRefusesWhatIsNotSafe(t *testing.T) {
	for want, c := range map[string]struct {
		board  *board
		change func(*Options)
		is     error
	}{
		"powers up at code 2048":         {&board{powerUp: [2]int{2048, 0}}, nil, hal.ErrRefused},
		"does not open":                  {&board{enabled: true, stuckOn: true}, nil, hal.ErrMismatch},
		"enable contact":                 {&board{dead: true}, nil, hal.ErrGone},
		"a converter at zero is not off": {&board{}, func(o *Options) { o.Enable = nil }, nil},
		"above 0":                        {&board{}, func(o *Options) { o.HighestVolts = 0 }, nil},
		"its highest code makes":         {&board{}, func(o *Options) { o.HighestVolts = 110 }, hal.ErrRange},
		"a gain of 1.06":                 {&board{}, func(o *Options) { o.Volts.Scale.Gain = 1.06 }, nil},
		"an offset of 1.1":               {&board{}, func(o *Options) { o.VoltMonitor.Scale.Offset = 1.1 }, nil},
		"a dead band":                    {&board{}, func(o *Options) { o.Volts.DeadBand = 11 }, nil},
		"fixed current limit":            {&board{}, func(o *Options) { o.Amperes = nil }, nil},
		"no converter":                   {&board{}, func(o *Options) { o.AmpereMonitor.Input = nil }, nil},
		"both must be above 0":           {&board{}, func(o *Options) { o.VoltMonitor.Scale.Pin = 0 }, nil},
	} {
		synctest.Test(t, func(t *testing.T) {
			lane := NewLane("board")
			o := c.board.options(t, lane)
			if c.change != nil {
				c.change(&o)
			}
			_, err := Open(t.Context(), o)
			require.ErrorContains(t, err, want)
			if c.is != nil {
				require.ErrorIs(t, err, c.is)
			}
			require.NoError(t, lane.Close())
		})
	}
}

// TestAStuckBusHoldsNobody: each call returns within 100 ms, off goes out at once,
// and the zero is written when the bus comes back, before anything else.
func TestAStuckBusHoldsNobody(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{ohms: 100}
		s := open(t, b, nil)
		set(t, s, 50, 4)
		require.NoError(t, s.Energise(t.Context()))
		released := make(chan struct{})
		b.do(func() { b.silent = released })
		for name, call := range map[string]func() error{
			"measure": func() error { _, err := s.Measure(t.Context()); return err },
			"check":   func() error { _, err := s.Check(t.Context()); return err },
			"set":     func() error { _, err := s.SetVoltage(t.Context(), 80); return err },
			"halt":    func() error { return s.Halt(t.Context()) },
		} {
			began := time.Now()
			require.ErrorIs(t, call(), hal.ErrTimeout, name)
			require.LessOrEqual(t, time.Since(began), Longest, name)
		}
		require.False(t, b.enabled, "the contact needs no bus")
		b.do(func() { b.silent = nil })
		close(released)
		require.Eventually(t, func() bool { _, err := s.Check(t.Context()); return err == nil }, time.Second, time.Millisecond)
		require.Equal(t, [2]int{}, b.codes, "no late setpoint")
		require.ErrorIs(t, s.Energise(t.Context()), hal.ErrRefused, "what was asked of a stuck bus does not count")
		set(t, s, 5, 1)
		require.NoError(t, s.Energise(t.Context()))
	})
}

// TestVoltsBeyondTheMonitorAreATrip: the driver does not wait to be told.
func TestVoltsBeyondTheMonitorAreATrip(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{}
		s := open(t, b, nil)
		set(t, s, 50, 1)
		require.NoError(t, s.Energise(t.Context()))
		b.do(func() { b.wild = true })
		sample, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTripped)
		require.ErrorIs(t, err, chip.ErrSaturated)
		require.NotErrorIs(t, err, hal.ErrNoReading, "it is more than no reading")
		require.True(t, math.IsNaN(float64(sample.Volts)))
		require.False(t, b.enabled)
		state, err := s.Check(t.Context())
		require.NoError(t, err)
		require.Contains(t, state.Tripped, "over-voltage")
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTripped, "the contact is open, and the monitor still at its end")
		b.do(func() { b.wild = false })
		state, err = s.Check(t.Context())
		require.NoError(t, err)
		require.NotEmpty(t, state.Tripped, "nobody has seen it back in its range")
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		state, err = s.Check(t.Context())
		require.NoError(t, err)
		require.Empty(t, state.Tripped, "or no acknowledgement and no start would ever be taken again")
		require.NoError(t, s.Energise(t.Context()))
		state, err = s.Check(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 50, float64(state.SetVolts), 1e-9, "the setpoints outlive a halt")
	})
}

// fixedInput gives one answer.
type fixedInput struct {
	chip.Input
	volts unit.Volts
	err   error
}

func (f fixedInput) Read(context.Context) (unit.Volts, error) { return f.volts, f.err }
func (f fixedInput) String() string                           { return "fixed" }

func TestAmperesBeyondTheMonitorAreNoReading(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, &board{}, nil)
		s.o.AmpereMonitor.Input = fixedInput{err: chip.ErrSaturated}
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		s.o.AmpereMonitor.Input = fixedInput{volts: -0.2}
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.ErrorContains(t, err, "reversed")
	})
}

// TestAFixedLimitCannotBeLowered: it is a person's, and the plan must fit it.
func TestAFixedLimitCannotBeLowered(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, &board{}, func(o *Options) { o.Amperes, o.FixedAmperes = nil, 2 })
		require.InDelta(t, 2, float64(s.Limits().HighestAmperes), 0, "so that nothing higher is planned")
		require.Less(t, float64(s.Limits().AmpereStep), 0.01)
		_, err := s.SetCurrent(t.Context(), 3)
		require.ErrorIs(t, err, hal.ErrRange)
		_, err = s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		held, err := s.SetCurrent(t.Context(), 2)
		require.NoError(t, err)
		require.InDelta(t, 2, float64(held), 0)
		require.NoError(t, s.Energise(t.Context()))
		state, err := s.Check(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 2, float64(state.LimitAmperes), 0)
		require.NoError(t, s.Halt(t.Context()))
		_, err = s.SetCurrent(t.Context(), 1.5)
		require.ErrorIs(t, err, hal.ErrRefused)
		_, err = s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		require.ErrorIs(t, s.Energise(t.Context()), hal.ErrRefused, "a refused limit does not count")
	})
}

func TestDeadBandIsZero(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{}
		s := open(t, b, func(o *Options) { o.Volts.DeadBand = 0.5 })
		held, err := s.SetVoltage(t.Context(), 0.49)
		require.NoError(t, err)
		require.Zero(t, held)
		require.Zero(t, b.codes[0])
		held, err = s.SetVoltage(t.Context(), 0.5)
		require.NoError(t, err)
		require.InDelta(t, 0.5, float64(held), 1e-9)
	})
}

// writeOnly is a converter without a way back.
type writeOnly struct{ *chip.MCP4725 }

func (writeOnly) Read() (int, error)            { return 0, chip.ErrWriteOnly }
func (w writeOnly) Start(context.Context) error { return w.Write(0) }

func TestAConverterThatCannotBeReadBackIsDrivenAllTheSame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{}
		s := open(t, b, func(o *Options) { o.Volts.Output = writeOnly{chip.NewMCP4725(b, 0x60, reference)} })
		set(t, s, 12, 1)
		require.NoError(t, s.Energise(t.Context()))
		state, err := s.Check(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 12, float64(state.SetVolts), 1e-9)
		require.NoError(t, s.Halt(t.Context()))
		require.Zero(t, b.codes[0])
	})
}

// TestALaneThatEndedAnswersAtOnce and says why.
func TestALaneThatEndedAnswersAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, &board{}, nil)
		require.NoError(t, s.volts.Lane.Close())
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorIs(t, s.Halt(t.Context()), hal.ErrGone)
	})
}

func TestALaneThatIsStuckSaysSoWhenItIsClosed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lane, stuck := NewLane("bus 1"), make(chan struct{})
		_, err := ask(t.Context(), lane, func(context.Context) (int, error) { <-stuck; return 0, errors.New("late") })
		require.ErrorIs(t, err, hal.ErrTimeout)
		require.ErrorContains(t, lane.Close(), "bus 1")
		close(stuck)
		require.NoError(t, lane.Close())
	})
}

// TestRoundingDown: what is held is never above what was asked for, less than a
// step below it inside the range, and asking for what is held changes nothing.
func TestRoundingDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Program{
			Output: chip.NewMCP4725(nil, 0x60, unit.Volts(rapid.Float64Range(2.7, 5.5).Draw(t, "reference"))),
			Scale: Scale{
				Pin: 5, Means: rapid.Float64Range(1, 300).Draw(t, "means"),
				Gain: rapid.Float64Range(0.95, 1.05).Draw(t, "gain"),
			},
		}
		p.Scale.Offset = p.Scale.Means * rapid.Float64Range(-0.01, 0.01).Draw(t, "offset")
		value := rapid.Float64Range(0, p.Scale.Means).Draw(t, "value")
		require.Zero(t, p.code(0), "zero is code 0, whatever the offset")
		code := p.code(value)
		held := p.held(code)
		require.LessOrEqual(t, held, value+2*grace*p.step())
		if held >= p.step() {
			require.Equal(t, code, p.code(held+grace*p.step()/10))
		}
		if code > 0 && code < p.Output.Codes()-1 {
			require.Greater(t, held, value-p.step())
		}
	})
}

func BenchmarkCode(b *testing.B) {
	p := Program{Output: chip.NewMCP4725(nil, 0x60, 5), Scale: Scale{Pin: 5, Means: 120, Gain: 1.01, Offset: 0.1}}
	for b.Loop() {
		_ = p.held(p.code(61.2))
	}
}

func BenchmarkLane(b *testing.B) {
	lane := NewLane("bus")
	for b.Loop() {
		if _, err := ask(b.Context(), lane, func(context.Context) (int, error) { return 1, nil }); err != nil {
			b.Fatal(err)
		}
	}
	if err := lane.Close(); err != nil {
		b.Fatal(err)
	}
}
