package scpi

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

// TestReplyEnds: each terminator ends a line, and another one is noticed.
func TestReplyEnds(t *testing.T) {
	for _, c := range []struct {
		agreed, sent string
		fine         bool
	}{
		{"any", "\n", true}, {"any", "\r", true}, {"any", "\r\n", true},
		{"lf", "\n", true}, {"lf", "\r\n", false}, {"lf", "\r", false},
		{"crlf", "\r\n", true}, {"crlf", "\n", false},
		{"cr", "\r", true}, {"cr", "\n", false}, {"cr", "\r\n", false},
	} {
		t.Run(c.agreed+" "+strings.NewReplacer("\r", "CR", "\n", "LF").Replace(c.sent), in(func(t *testing.T) {
			i, d := newInstrument(), plain()
			d.ReplyEnd, i.replyEnd = c.agreed, c.sent
			s, err := connect(t, i, d)
			if !c.fine {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			driveOnce(t, s)
		}))
	}
}

func TestSendEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i, d := newInstrument(), plain()
		i.lineEnd, d.SendEnd = '\r', "cr"
		s, err := connect(t, i, d)
		require.NoError(t, err)
		driveOnce(t, s)
	})
}

// TestLongLine: an answer without an end is given up at 4 KiB.
func TestLongLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		i.do(func() { i.fault = func(w *wire, _ string) { i.raw(w, strings.Repeat("1", 5000)) } })
		_, err = s.Measure(t.Context())
		require.ErrorContains(t, err, "4096 bytes")
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
	})
}

// TestHaltIsQuick: two exchanges at most, whatever the link does.
func TestHaltIsQuick(t *testing.T) {
	for name, spoil := range map[string]func(*instrument){
		"silent":        func(i *instrument) { i.do(func() { i.silent = true }) },
		"gone":          func(i *instrument) { i.do(func() { i.cut = true }); i.hangUp() },
		"stuck":         func(i *instrument) { i.do(func() { i.stuck = true }) },
		"slow as a day": func(i *instrument) { i.do(func() { i.delay = time.Hour }) },
	} {
		t.Run(name, in(func(t *testing.T) {
			i := newInstrument()
			s, err := connect(t, i, plain())
			require.NoError(t, err)
			driveOnce(t, s)
			require.NoError(t, s.Energise(t.Context()))
			spoil(i)
			began := time.Now()
			require.Error(t, s.Halt(t.Context()))
			require.LessOrEqual(t, time.Since(began), 2*s.Limits().Exchange)
		}))
	}
}

// TestBackAfterABreak: who comes back is asked its name first and is then switched
// off before anything else, and what happened in between is told.
func TestBackAfterABreak(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		driveOnce(t, s)
		require.NoError(t, s.Energise(t.Context()))
		i.do(func() { i.esr |= 128; i.queue = append(i.queue, `-310,"System error"`) })
		i.hangUp()
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		heard := len(i.lines())
		state, err := s.Check(t.Context())
		require.NoError(t, err)
		require.Equal(t, "*IDN?", i.lines()[heard])
		require.Contains(t, strings.Join(i.lines()[heard:heard+3], "|"), "OUTP OFF")
		require.False(t, state.Output)
		require.True(t, state.Restarted)
		require.Equal(t, []string{"-310 System error"}, state.Errors)
		require.Error(t, s.Energise(t.Context()))
	})
}

// TestTimeoutLeavesTheOutput: a lost answer is no reason to end a run.
func TestTimeoutLeavesTheOutput(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		driveOnce(t, s)
		require.NoError(t, s.Energise(t.Context()))
		i.do(func() { i.fault = func(*wire, string) {} })
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		on, err := s.Energised(t.Context())
		require.NoError(t, err)
		require.True(t, on)
	})
}

// TestEndlessSilenceIsSilence: an instrument that says nothing is silent, not out of step.
func TestEndlessSilenceIsSilence(t *testing.T) {
	for name, redial := range map[string]bool{"redial": true, "no redial": false} {
		t.Run(name, in(func(t *testing.T) {
			i := newInstrument()
			transport, err := i.dial(t.Context())
			require.NoError(t, err)
			t.Cleanup(i.hangUp)
			o := options(i, transport, plain())
			if !redial {
				o.Redial = nil
			}
			s, err := Open(t.Context(), o)
			require.NoError(t, err)
			i.do(func() { i.silent = true })
			_, err = s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
			began := time.Now()
			_, err = s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
			require.NotErrorIs(t, err, hal.ErrDesync)
			require.LessOrEqual(t, time.Since(began), resyncLimit)
			i.do(func() { i.silent = false })
			_, err = s.Measure(t.Context())
			require.NoError(t, err)
		}))
	}
}

// TestEndlessNonsenseIsDesync: an instrument that answers, but never what was
// asked, is out of step.
func TestEndlessNonsenseIsDesync(t *testing.T) {
	in(func(t *testing.T) {
		i := newInstrument()
		transport, err := i.dial(t.Context())
		require.NoError(t, err)
		t.Cleanup(i.hangUp)
		o := options(i, transport, plain())
		o.Redial = nil
		s, err := Open(t.Context(), o)
		require.NoError(t, err)
		var nonsense func(w *wire, _ string)
		nonsense = func(w *wire, _ string) {
			i.raw(w, "7.5\n")
			i.fault = nonsense
		}
		i.do(func() { i.fault = nonsense })
		_, err = s.Measure(t.Context())
		require.Error(t, err)
		began := time.Now()
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrDesync)
		require.LessOrEqual(t, time.Since(began), resyncLimit)
	})(t)
}

// TestNewNumbersDiffer: a late answer to an earlier try can never be taken for the
// answer to this one, nor can a switch's.
func TestNewNumbersDiffer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draws := rapid.SliceOfN(rapid.IntRange(0, 1<<16), 12, 12).Draw(t, "draws")
		s := &Supply{dialogue: dialogue{nonce: func() int { n := draws[0]; draws = append(draws[1:], n); return n }}}
		var last []int
		for range 12 {
			n := s.newNumber()
			require.NotContains(t, last[max(0, len(last)-tries):], n)
			require.True(t, n >= 2 && n <= 255)
			last = append(last, n)
		}
	})
}

// TestConstantProbeWouldFail: with a constant in place of a new number, the late
// answer to the first try satisfies the second, whose own answer then becomes a
// reading. So the numbers are what keeps the link in step.
func TestConstantProbeWouldFail(t *testing.T) {
	for name, c := range map[string]struct {
		constant bool
		want     float64
	}{
		"constant": {true, 7}, "new numbers": {false, 0.07},
	} {
		t.Run(name, in(func(t *testing.T) {
			i := newInstrument()
			i.rest[0] = 0.07
			transport, err := i.dial(t.Context())
			require.NoError(t, err)
			t.Cleanup(i.hangUp)
			o := options(i, transport, plain())
			o.Redial, o.Dialect.Compound = nil, false
			s, err := Open(t.Context(), o)
			require.NoError(t, err)
			if c.constant {
				s.number = func() int { return 7 }
			}
			i.do(func() { i.fault = func(*wire, string) {} })
			_, err = s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
			i.do(func() { i.delay = 20 * time.Millisecond }) // the second answer comes after the first was read
			i.do(func() { i.fault = func(w *wire, reply string) { i.later(w, 310*time.Millisecond, reply+i.replyEnd) } })
			require.NoError(t, s.findStep(t.Context()))
			<-time.After(time.Second)
			s.link.transport = withoutPending{s.link.transport} // a transport that cannot look ahead
			require.NoError(t, s.exchange(t.Context(), nil, s.question(itemVolts)))
			require.InDelta(t, c.want, s.answers.volts, 0)
		}))
	}
}

// withoutPending hides that a transport can tell of stray bytes.
type withoutPending struct{ Transport }

// TestRestartForgetsLimits: a supply that restarted has lost its setpoints, and is
// not switched on before they are set again.
func TestRestartForgetsLimits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		driveOnce(t, s)
		i.do(func() { i.volts, i.amperes, i.esr = 0, 0, 128 })
		state, err := s.Check(t.Context())
		require.NoError(t, err)
		require.True(t, state.Restarted)
		require.ErrorIs(t, s.Energise(t.Context()), hal.ErrRefused)
		driveOnce(t, s)
	})
}

// TestGreeting: some servers greet whoever connects; that is no answer.
func TestGreeting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		i.greeting = "Welcome to the supply"
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		driveOnce(t, s)
		i.do(func() { i.fault = func(*wire, string) {} })
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
	})
}

// TestReadBackWithinAStep: an instrument that writes five digits still obeys, one
// that is two steps off does not.
func TestReadBackWithinAStep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		i.do(func() { i.clampAt = 99.999 })
		held, err := s.SetVoltage(t.Context(), 100)
		require.NoError(t, err)
		require.InDelta(t, 99.999, float64(held), 1e-9, "what it holds, not what was asked")
		i.do(func() { i.clampAt = 99.998 })
		_, err = s.SetVoltage(t.Context(), 100)
		require.ErrorIs(t, err, hal.ErrMismatch)
	})
}
