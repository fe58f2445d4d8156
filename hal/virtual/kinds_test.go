package virtual

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

// seen is a moment of a load, 20 V reached and one second held.
type seen struct {
	truth  Truth
	sample hal.Sample
	err    error
	state  hal.State
	closed [2]bool
	warmth float64
}

// at20 runs a load to 20 V and a second beyond, where nothing was wrong before.
func at20(t *testing.T, texts ...string) (seen, *load) {
	t.Helper()
	setup := Setup{}
	for _, text := range texts {
		fault, err := ParseFault(text)
		require.NoError(t, err)
		setup.Faults = append(setup.Faults, fault)
	}
	l := begin(t, newBench(t, setup), 1)
	for tick := 1; tick <= 210; tick++ {
		_, _ = l.supply.SetVoltage(context.Background(), min(20, unit.Volts(tick)/10)) // what goes wrong is looked at below
		l.tick()
	}
	return l.look(), l
}

func (l *load) look() (s seen) {
	ctx := context.Background()
	s.truth = l.Truth()
	s.sample, s.err = l.supply.Measure(ctx)
	s.state, _ = l.supply.Check(ctx) // an error shows in err as well
	channels, err := l.Interlock().Channels(ctx)
	if err == nil {
		s.closed = channels.Closed
	}
	warmth, _, err := l.Thermometer().Temperature(ctx)
	if s.warmth = float64(warmth); err != nil {
		s.warmth = math.NaN()
	}
	return s
}

// TestEveryFaultShows holds each fault of the timetable to what it should do,
// against a load in which nothing is wrong.
func TestEveryFaultShows(t *testing.T) {
	sound, _ := at20(t)
	checks := map[string]func(t *testing.T, s seen){
		"contact-lost@15V": func(t *testing.T, s seen) {
			require.Less(t, s.truth.Film[0], s.truth.Film[1]-5)
			require.Less(t, s.truth.Amperes, 0.93*sound.truth.Amperes)
		},
		"contact-lost@15V,part=3": func(t *testing.T, s seen) { require.Less(t, s.truth.Film[2], s.truth.Film[0]-5) },
		"contact-lost@15V,for=1s": func(t *testing.T, s seen) {
			require.InDelta(t, s.truth.Film[0], s.truth.Film[1], 0.5, "a part that is back catches up")
		},
		"contact-intermittent@15V,for=5s": func(t *testing.T, s seen) { require.Less(t, s.truth.Film[0], s.truth.Film[1]) },
		"part-missing":                    func(t *testing.T, s seen) { require.InDelta(t, 1.5, s.truth.Film[0], 1e-9) },
		"no-contact":                      func(t *testing.T, s seen) { require.InDelta(t, 0, s.truth.Amperes, 1e-9) },
		"contact-resistance@15V,size=20":  func(t *testing.T, s seen) { require.Less(t, s.truth.Film[0], s.truth.Film[1]) },
		"short-circuit@15V": func(t *testing.T, s seen) {
			require.InDelta(t, 1, s.truth.Volts, 0.01)
			require.Equal(t, hal.ModeConstantCurrent, s.sample.Mode)
		},
		"leak@15V":          func(t *testing.T, s seen) { require.InDelta(t, s.truth.Volts/1000, s.truth.BesideAmperes, 1e-6) },
		"foreign-metal@15V": func(t *testing.T, s seen) { require.Greater(t, s.truth.BesideAmperes, 0.4) },
		"oxide-already-present": func(t *testing.T, s seen) {
			require.InDelta(t, 64.5, s.truth.Film[7], 1)
			require.InDelta(t, 0, s.truth.Amperes, 0.005)
		},
		"mixed-rack":          func(t *testing.T, s seen) { require.Greater(t, s.truth.Film[0], s.truth.Film[1]+15) },
		"film-dissolving@15V": func(t *testing.T, s seen) { require.Greater(t, s.truth.Amperes, 1.02*sound.truth.Amperes) },
		"breakdown@15V": func(t *testing.T, s seen) {
			require.Less(t, s.truth.Film[0], sound.truth.Film[0]-3)
			require.Greater(t, s.truth.BesideAmperes, 0.1)
		},
		"bath-resistance@15V,size=3": func(t *testing.T, s seen) {
			require.Greater(t, s.truth.Volts-s.truth.FilmVolts, 2.5*(sound.truth.Volts-sound.truth.FilmVolts))
		},
		"bath-step@15V":             func(t *testing.T, s seen) { require.InDelta(t, sound.truth.Celsius+5, s.truth.Celsius, 0.1) },
		"thermometer-silent@15V":    func(t *testing.T, s seen) { require.True(t, math.IsNaN(s.warmth)) },
		"thermometer-stuck@15V":     func(t *testing.T, s seen) { require.Equal(t, 85.0, s.warmth) },
		"supply-droop@15V,for=ever": func(t *testing.T, s seen) { require.InDelta(t, 18, s.truth.Volts, 0.01) },
		"mains-dip@15V,for=ever":    func(t *testing.T, s seen) { require.Zero(t, s.truth.Volts) },
		"mains-dip@15V":             func(t *testing.T, s seen) { require.InDelta(t, 20, s.truth.Volts, 0.01) },
		"setpoint-gain@15V,size=1.1": func(t *testing.T, s seen) {
			require.InDelta(t, 22, s.truth.Volts, 0.01)
			require.InDelta(t, 20, float64(s.state.SetVolts), 1e-9)
		},
		"setpoint-not-followed@15V": func(t *testing.T, s seen) {
			require.InDelta(t, 15, s.truth.Volts, 0.2)
			require.InDelta(t, 20, float64(s.state.SetVolts), 1e-9)
		},
		"setpoint-ignored@15V":    func(t *testing.T, s seen) { require.InDelta(t, 15, float64(s.state.SetVolts), 0.2) },
		"setpoint-clamped@5V":     func(t *testing.T, s seen) { require.InDelta(t, 10, float64(s.state.SetVolts), 1e-9) },
		"supply-tripped@15V":      func(t *testing.T, s seen) { require.Equal(t, "over-temperature", s.state.Tripped) },
		"supply-restarted@15V":    func(t *testing.T, s seen) { require.True(t, s.state.Restarted && !s.state.Output) },
		"readback-volts-gain@15V": func(t *testing.T, s seen) { require.InDelta(t, 20.1, float64(s.sample.Volts), 0.05) },
		"readback-amperes-gain@15V,size=2": func(t *testing.T, s seen) {
			require.InEpsilon(t, 2*s.truth.Amperes, float64(s.sample.Amperes), 0.03)
		},
		"current-offset@15V,size=0.5": func(t *testing.T, s seen) {
			require.InDelta(t, 0.5+s.truth.Amperes, float64(s.sample.Amperes), 0.03)
		},
		"readback-volts-stuck@15V": func(t *testing.T, s seen) { require.InDelta(t, 15, float64(s.sample.Volts), 0.2) },
		"readback-stuck@15V":       func(t *testing.T, s seen) { require.InDelta(t, 15, float64(s.sample.Volts), 0.2) },
		"no-reading@15V": func(t *testing.T, s seen) {
			require.ErrorIs(t, s.err, hal.ErrNoReading)
			require.True(t, math.IsNaN(float64(s.sample.Volts)) && math.IsNaN(float64(s.sample.Amperes)))
		},
		"supply-silent@15V":          func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrTimeout) },
		"supply-unplugged@15V":       func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrGone) },
		"late-reply@15V,for=ever":    func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrTimeout) },
		"garbage@15V,for=ever":       func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrDesync) },
		"cut-reply@15V,for=ever":     func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrTimeout) },
		"doubled-reply@15V,for=ever": func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrDesync) },
		"merged-reply@15V,for=ever":  func(t *testing.T, s seen) { require.ErrorIs(t, s.err, hal.ErrDesync) },
		"instrument-error@15V":       func(t *testing.T, s seen) { require.Len(t, s.state.Errors, 1) },
		"output-touched@15V":         func(t *testing.T, s seen) { require.False(t, s.state.Output || s.truth.Output) },
		"interlock-open@20V":         func(t *testing.T, s seen) { require.Equal(t, [2]bool{}, s.closed) },
		"interlock-bounce@20V,for=2s": func(t *testing.T, s seen) {
			require.Equal(t, [2]bool{}, s.closed)
		},
		"interlock-disagrees@15V": func(t *testing.T, s seen) { require.Equal(t, [2]bool{true, false}, s.closed) },
		"interlock-gone@15V":      func(t *testing.T, s seen) { require.Equal(t, [2]bool{}, s.closed) },
	}
	for text, check := range checks {
		t.Run(text, func(t *testing.T) {
			s, _ := at20(t, text)
			require.Len(t, s.truth.Faults, 1, "it happened")
			check(t, s)
		})
	}
}

func TestCurrentLimitIgnored(t *testing.T) {
	s, l := at20(t, "current-limit-ignored@15V")
	_, err := l.supply.SetCurrent(context.Background(), 0.01)
	require.NoError(t, err)
	require.Greater(t, l.Truth().Amperes, 0.1)
	require.NoError(t, s.err)
}

func TestOutputStuckOn(t *testing.T) {
	_, l := at20(t, "output-stuck-on@19V,for=5s")
	require.NoError(t, l.supply.Halt(context.Background()), "it says that it is off")
	on, err := l.supply.Energised(context.Background())
	require.NoError(t, err)
	require.False(t, on)
	l.ticks(5)
	require.InDelta(t, 20, l.Truth().Volts, 0.1)
	l.ticks(30)
	require.Less(t, l.Truth().Volts, 5.0, "the fault ended")
}

func TestOffIgnored(t *testing.T) {
	_, l := at20(t, "off-ignored@19V")
	require.ErrorIs(t, l.supply.Halt(context.Background()), hal.ErrMismatch)
	on, err := l.supply.Energised(context.Background())
	require.NoError(t, err)
	require.True(t, on && l.Truth().Output)
}

func TestFullQueueEndsInItsOverflow(t *testing.T) {
	b := newBench(t, Setup{})
	for range mostErrors + 3 {
		require.NoError(t, b.Inject(Fault{ID: "instrument-error", Size: -222}))
	}
	state, err := b.Supply().Check(context.Background())
	require.NoError(t, err)
	require.Len(t, state.Errors, mostErrors)
	require.Contains(t, state.Errors[mostErrors-1], "-350")
}

func (l *load) ticks(n int) {
	for range n {
		l.tick()
	}
}

func TestAmperesStuck(t *testing.T) {
	_, l := at20(t, "readback-amperes-stuck@15V")
	before := l.look().sample.Amperes
	l.ticks(50)
	require.Equal(t, before, l.look().sample.Amperes)
	require.Less(t, l.Truth().Amperes, 0.5*float64(before))
}

func TestPanelTouched(t *testing.T) {
	_, l := at20(t, "panel-touched@hold+4s")
	l.ticks(40)
	s := l.look()
	require.InDelta(t, 19, float64(s.state.SetVolts), 1e-9)
	require.InDelta(t, 19, s.truth.Volts, 0.1)
}

func TestStuckChannelNeverSeesTheLid(t *testing.T) {
	b := newBench(t, Setup{Faults: []Fault{{ID: "interlock-stuck-closed", Part: AllParts}}})
	require.Empty(t, changes(t, b, 50))
	require.False(t, b.Truth().LidOpen)
}

func TestHoldIsNotAPauseOfTheContactCheck(t *testing.T) {
	b := newBench(t, Setup{Faults: []Fault{{ID: "leak", At: AfterHold(5)}}})
	l := begin(t, b, 1)
	l.ramp(8, 20)
	require.Empty(t, b.Truth().Faults, "a pause at 8 V")
	l.ramp(15, 4)
	require.Empty(t, b.Truth().Faults, "four seconds into the hold")
	l.ticks(15)
	require.Len(t, b.Truth().Faults, 1)
	require.InDelta(t, 5, (b.Truth().Faults[0].Since-3500*time.Millisecond).Seconds()-8-20-15, 0.11)
}

func TestOwnOvervoltageTrips(t *testing.T) {
	b := newBench(t, Setup{})
	protector, able := b.Supply().(hal.Protector)
	require.True(t, able)
	got, err := protector.SetOvervoltage(context.Background(), 12)
	require.NoError(t, err)
	require.Equal(t, unit.Volts(12), got)
	l := begin(t, b, 1)
	l.ramp(15, 0)
	state, err := l.supply.Check(context.Background())
	require.NoError(t, err)
	require.Equal(t, "over-voltage", state.Tripped)
	require.False(t, state.Output)
	require.ErrorIs(t, l.supply.Energise(context.Background()), hal.ErrTripped)
	_, err = protector.SetOvervoltage(context.Background(), 1000)
	require.ErrorIs(t, err, hal.ErrRange)
}

func TestWhatBecomesOfAnAnswer(t *testing.T) {
	end := []byte("\n")
	for id, want := range map[string]string{"": "12.5;3\n", "cut-reply": "12.", "doubled-reply": "12.5;3\n12.5;3\n", "merged-reply": "12.5;312.5;3\n"} {
		b := newBench(t, Setup{})
		if id != "" {
			require.NoError(t, b.Inject(Fault{ID: id}))
		}
		require.Equal(t, want, string(b.Deliver([]byte("12.5;3"), end)), id)
		require.Equal(t, id != "", b.Wire().Spoils())
	}
	b := newBench(t, Setup{})
	require.NoError(t, b.Inject(Fault{ID: "merged-reply"}))
	require.Equal(t, "aaaabc", string(b.Deliver([]byte("aabc"), nil)), "a frame has no end: half of another stands before it")
}

func TestABenchOnWhichThereIsAlwaysSomethingWrongStaysSmall(t *testing.T) {
	b := newBench(t, Setup{Faults: []Fault{{ID: "leak", At: AfterHold(1)}}})
	for range 3 * mostFaults {
		require.NoError(t, b.Inject(Fault{ID: "garbage", For: time.Millisecond}))
		b.AdvanceTo(b.now + 2*time.Millisecond)
	}
	require.LessOrEqual(t, len(b.faults), mostFaults)
	require.Equal(t, "leak", b.faults[0].ID, "what waits is kept")
}
