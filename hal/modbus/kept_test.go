package modbus

import (
	"math/rand/v2"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// always spoils every answer from now on.
func (b *box) always(spoil func(*wire, []byte)) {
	var again func(*wire, []byte)
	again = func(w *wire, answer []byte) {
		spoil(w, answer)
		b.fault = again
	}
	b.do(func() { b.fault = again })
}

// spoilers are answers of which nothing can be used.
func spoilers() map[string]func(*wire, []byte) {
	noise := rand.New(rand.NewPCG(7, 7))
	return map[string]func(*wire, []byte){
		"garbage": func(w *wire, a []byte) {
			for i := range a {
				a[i] = byte(noise.IntN(256))
			}
			reply(w, a)
		},
		"cut":     func(w *wire, a []byte) { reply(w, a[:len(a)/2]) },
		"doubled": func(w *wire, a []byte) { reply(w, slices.Concat(a, a)) },
		"merged":  func(w *wire, a []byte) { reply(w, slices.Concat(a[:len(a)/2], a)) },
	}
}

// TestOffIsSaidBehindSpoiltAnswers on the connection on which the supply said who it is: in
// garbage it could not say that again on another one. It is left a while after that.
func TestOffIsSaidBehindSpoiltAnswers(t *testing.T) {
	for name, spoil := range spoilers() {
		t.Run(name, func(t *testing.T) {
			isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
				was := b.current
				b.always(spoil)
				for range 5 {
					_, err := s.Measure(t.Context())
					require.Error(t, err)
					require.NotErrorIs(t, err, hal.ErrGone)
				}
				require.Same(t, was, b.current)
				heard := len(b.lines())
				require.Error(t, s.Halt(t.Context()))
				synctest.Wait()
				require.Same(t, was, b.current, "off may still be on its way")
				require.Equal(t, []string{offRequest, zeroRequest}, b.lines()[heard:heard+2])
				b.do(func() { require.Zero(t, b.hold[2]) })
				<-time.After(lastWord)
				require.Error(t, s.Halt(t.Context()))
				require.Error(t, s.Halt(t.Context()))
				require.NotSame(t, was, b.current, "it may answer on another one")
			})
		})
	}
}

// TestOneSpoiltAnswerKeepsTheRun: the next reading is the supply's, on the same connection
// and with the output as it was.
func TestOneSpoiltAnswerKeepsTheRun(t *testing.T) {
	for name, spoil := range spoilers() {
		t.Run(name, func(t *testing.T) {
			isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
				was := b.current
				b.do(func() { b.fault = spoil })
				_, err := s.Measure(t.Context())
				require.Error(t, err)
				sample, err := s.Measure(t.Context())
				require.NoError(t, err)
				require.InDelta(t, 5, float64(sample.Volts), 1e-9)
				require.Same(t, was, b.current)
				b.do(func() { require.Equal(t, uint16(1), b.hold[2]) })
			})
		})
	}
}

// TestALidBehindTheSameConnectionDoesNotEndIt: what it answers says nothing of the supply.
func TestALidBehindTheSameConnectionDoesNotEndIt(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		was := b.current
		lid := &device{line: s.line, unit: 1, timeout: 300 * time.Millisecond}
		b.do(func() { b.fault = func(w *wire, a []byte) { reply(w, a[1:]) } })
		_, err := lid.exchange(t.Context(), reading(readHolding, 0, 1))
		require.Error(t, err)
		_, err = lid.exchange(t.Context(), reading(readHolding, 0, 1))
		require.NoError(t, err)
		require.Same(t, was, b.current)
		require.NoError(t, s.Halt(t.Context()))
	})
}

// TestASpoiltNameMakesNoStranger: over TCP it has no check sum, and a stranger hears no off.
func TestASpoiltNameMakesNoStranger(t *testing.T) {
	isOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		lose := func(w *wire, _ []byte) {
			b.fault = func(w *wire, a []byte) { a[len(a)-1] ^= 4; reply(w, a) } // the name that is asked for next
			reply(w, []byte{1})
		}
		b.do(func() { b.fault = lose })
		_, err := s.Measure(t.Context())
		require.Error(t, err)
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		b.do(func() { b.fault = func(w *wire, _ []byte) { reply(w, []byte{1}) } })
		_, err = s.Measure(t.Context())
		require.Error(t, err)
		b.do(func() { b.identity = []string{"OTHER WORKS", "PS-3 SIMULATED", "1.0"} })
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorContains(t, err, "another device answers in its place", "who says it twice is one")
	})
}

// TestALateSupplyIsNotBuriedInQuestions: off stands behind two or three of them.
func TestALateSupplyIsNotBuriedInQuestions(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		isOn(t, framing, func(t *testing.T, s *Supply, b *box) {
			b.do(func() { b.silent = true })
			heard := len(b.lines())
			ticks := time.NewTicker(100 * time.Millisecond)
			defer ticks.Stop()
			s.timeout = 120 * time.Millisecond
			for began := time.Now(); time.Since(began) < 950*time.Millisecond; <-ticks.C { // by then off is said
				_, err := s.Measure(t.Context())
				require.ErrorIs(t, err, hal.ErrTimeout)
			}
			synctest.Wait()
			require.LessOrEqual(t, len(b.lines())-heard, 3)
			b.do(func() { b.silent = false })
			<-time.After(mostAlone)
			_, err := s.Measure(t.Context())
			require.NoError(t, err)
		})
	}
}
