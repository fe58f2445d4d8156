package modbus

import (
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

const (
	offRequest  = "01 06 00 02 00 00"
	zeroRequest = "01 10 00 00 00 02 04 00 00 00 00"
)

// isOn is a supply that is on, at 5 V.
func isOn(t *testing.T, framing Framing, test func(*testing.T, *Supply, *box)) {
	inBubble(t, framing, func(t *testing.T, s *Supply, b *box) {
		_, err := s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		_, err = s.SetCurrent(t.Context(), 1)
		require.NoError(t, err)
		require.NoError(t, s.Energise(t.Context()))
		test(t, s, b)
	})
}

// TestOffIsSaidOnTheConnectionThereIs: a supply that hears and says nothing is asked on
// the same connection until it is to be off; then off is the first that it hears.
func TestOffIsSaidOnTheConnectionThereIs(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		was := b.current
		b.do(func() { b.silent = true })
		for range 3 {
			_, err := s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
		}
		require.Same(t, was, b.current, "who answers on a new connection would have to say first who it is")
		heard := len(b.lines())
		require.Error(t, s.Halt(t.Context()))
		synctest.Wait()
		require.Equal(t, []string{offRequest, zeroRequest}, b.lines()[heard:heard+2])
		b.do(func() { require.Zero(t, b.hold[2]) })
	})
}

// TestLateAnswerKeepsTheConnection while the output is on, and is taken for nothing else.
func TestLateAnswerKeepsTheConnection(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		b.do(func() { b.fault = func(*wire, []byte) {} })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		sample, err := s.Measure(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 5, float64(sample.Volts), 1e-9)
		b.do(func() { require.Equal(t, uint16(1), b.hold[2]) })
	})
}

// TestSilentNewcomerHearsNothingBlind: it is asked who it is.
func TestSilentNewcomerHearsNothingBlind(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		b.do(func() { b.silent = true; b.drop() })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		heard := len(b.lines())
		for range 2 {
			_, err = s.Measure(t.Context())
			require.Error(t, err)
			require.Error(t, s.Halt(t.Context()))
		}
		synctest.Wait()
		require.NotEmpty(t, b.lines()[heard:])
		for _, line := range b.lines()[heard:] {
			require.Equal(t, "01 2B 0E 01 00", line)
		}
	})
}

// TestBrokenConnectionIsToldOnce: it is in step again and the output is off, but what
// ran has ended.
func TestBrokenConnectionIsToldOnce(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		b.hangUp()
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		_, err = s.SetVoltage(t.Context(), 6)
		require.ErrorIs(t, err, hal.ErrRelinked)
		b.do(func() {
			require.Zero(t, b.hold[2])
			require.Equal(t, uint16(500), b.hold[0], "nothing rises across a break")
		})
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		b.hangUp()
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		_, err = s.Measure(t.Context())
		require.NoError(t, err, "with the output off nothing was ended")
	})
}

// TestKnobIsNotOverwritten: a value that is not the one that was left is told.
func TestKnobIsNotOverwritten(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		isOn(t, framing, func(t *testing.T, s *Supply, b *box) {
			_, err := s.SetVoltage(t.Context(), 5.1)
			require.NoError(t, err)
			b.do(func() { b.hold[0] = 511 })
			_, err = s.SetVoltage(t.Context(), 5.2)
			require.ErrorIs(t, err, hal.ErrLocal)
			require.ErrorContains(t, err, "holds 5.11, and was left at 5.1")
			b.do(func() { require.Equal(t, uint16(511), b.hold[0]); b.hold[1] = 300 })
			_, err = s.SetCurrent(t.Context(), 2)
			require.ErrorIs(t, err, hal.ErrLocal)
			require.NoError(t, s.Halt(t.Context()))
			_, err = s.SetVoltage(t.Context(), 0)
			require.NoError(t, err, "with the output off the panel is anybody's")
		})
	}
}

// TestKnobBetweenWriteAndReadBackIsTold and not written over; what is still the old value
// was not taken, which is another thing; a restart is told by the next look.
func TestKnobBetweenWriteAndReadBackIsTold(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		for held, want := range map[uint16]error{1200: hal.ErrStray, 500: hal.ErrMismatch} {
			isOn(t, framing, func(t *testing.T, s *Supply, b *box) {
				b.behindWrite(func() { b.hold[0] = held })
				_, err := s.SetVoltage(t.Context(), 5.1)
				require.ErrorIs(t, err, want)
				b.do(func() { require.Equal(t, held, b.hold[0]) })
			})
		}
	}
}

// TestRestartAroundAWriteIsARestart: whether its write or its read-back is the first that
// meets the restarted supply.
func TestRestartAroundAWriteIsARestart(t *testing.T) {
	restart := func(b *box) func() { return func() { b.hold[0], b.hold[1], b.hold[2] = 0, 0, 0 } }
	for name, meet := range map[string]func(b *box){
		"the read-back": func(b *box) { b.behindWrite(restart(b)) },
		"the write":     func(b *box) { b.behindLook(restart(b)) },
	} {
		t.Run(name, func(t *testing.T) {
			isOn(t, RTU, func(t *testing.T, s *Supply, b *box) {
				meet(b)
				if _, err := s.SetVoltage(t.Context(), 5.1); err != nil {
					require.True(t, errors.Is(err, hal.ErrLocal) || errors.Is(err, hal.ErrStray), err)
				}
				state, err := s.Check(t.Context())
				require.NoError(t, err)
				require.True(t, state.Restarted)
			})
		})
	}
}

// behindLook does something between the look at what is held and the write.
func (b *box) behindLook(something func()) {
	b.do(func() {
		b.fault = func(w *wire, answer []byte) {
			something()
			reply(w, answer)
		}
	})
}

// behindWrite does something between the write and its read-back.
func (b *box) behindWrite(something func()) {
	b.behindLook(func() {
		b.fault = func(w *wire, answer []byte) {
			something()
			reply(w, answer)
		}
	})
}

// TestOffThatIsNotObeyedIsSoonTold: the owner needs its time for the readings that raise
// the alarm.
func TestOffThatIsNotObeyedIsSoonTold(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		isOn(t, framing, func(t *testing.T, s *Supply, b *box) {
			b.do(func() { b.lives = true })
			began := time.Now()
			require.ErrorIs(t, s.Halt(t.Context()), hal.ErrMismatch)
			require.LessOrEqual(t, time.Since(began), max(s.limits.Settle, s.timeout)+2*busyPause)
		})
	}
}
