package modbus

import (
	"encoding/binary"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// practised is a supply on a serial line that has answered all that a tick asks.
func practised(t *testing.T, timeout time.Duration, test func(*testing.T, *Supply, *box)) {
	synctest.Test(t, func(t *testing.T) {
		s, b, err := openBox(t, RTU, func(_ *box, o *SupplyOptions) { o.Timeout = timeout })
		require.NoError(t, err)
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		test(t, s, b)
	})
}

// TestASpoiltAnswerIsSoonOver: whatever became of one answer, a loop of ten ticks a second
// has a good reading again within 0.35 s, so that a lid on the same line keeps its half
// second; also where the configured time-out alone is longer than that.
func TestASpoiltAnswerIsSoonOver(t *testing.T) {
	for name, spoil := range map[string]func(*wire, []byte){
		"lost":        func(*wire, []byte) {},
		"cut":         func(w *wire, a []byte) { reply(w, a[:len(a)/2]) },
		"garbage":     func(w *wire, a []byte) { reply(w, []byte{7, 4, 0xFF, 1, 9, 9, 9, 9, 9}) },
		"doubled":     func(w *wire, a []byte) { reply(w, slices.Concat(a, a)) },
		"merged":      func(w *wire, a []byte) { reply(w, slices.Concat(a[:len(a)/2], a)) },
		"a bit wrong": func(w *wire, a []byte) { a[4] ^= 8; reply(w, a) },
	} {
		t.Run(name, func(t *testing.T) {
			practised(t, 500*time.Millisecond, func(t *testing.T, s *Supply, b *box) {
				b.do(func() { b.fault = spoil })
				began := time.Now()
				ticks := time.NewTicker(100 * time.Millisecond)
				defer ticks.Stop()
				for {
					if _, err := s.Measure(t.Context()); err == nil {
						break
					}
					<-ticks.C
				}
				require.LessOrEqual(t, time.Since(began), 350*time.Millisecond)
			})
		})
	}
}

// TestAnswerOfAnotherUnitIsPassedOver: what comes late from one unit costs another one on
// the line nothing (MODBUS over Serial Line V1.02, 2.4.1).
func TestAnswerOfAnotherUnitIsPassedOver(t *testing.T) {
	practised(t, 300*time.Millisecond, func(t *testing.T, s *Supply, b *box) {
		foreign := binary.LittleEndian.AppendUint16([]byte{9, 4, 2, 0, 5}, crc([]byte{9, 4, 2, 0, 5}))
		b.do(func() { b.fault = func(w *wire, a []byte) { reply(w, foreign); later(60*time.Millisecond)(w, a) } })
		_, err := s.Measure(t.Context())
		require.NoError(t, err)
	})
}

// TestStrayBytesCostALidNothing: they are there before it is asked, so nothing was
// asked yet.
func TestStrayBytesCostALidNothing(t *testing.T) {
	practised(t, 300*time.Millisecond, func(t *testing.T, s *Supply, b *box) {
		lid := &device{line: s.line, unit: 1, timeout: 300 * time.Millisecond, loopback: true}
		b.do(func() { b.fault = func(w *wire, a []byte) { reply(w, a); later(time.Millisecond)(w, a) } })
		_, err := s.Measure(t.Context())
		require.NoError(t, err)
		<-time.After(10 * time.Millisecond)
		began := time.Now()
		_, err = lid.exchange(t.Context(), reading(readHolding, 0, 1))
		require.NoError(t, err)
		require.LessOrEqual(t, time.Since(began), 2*quiet)
	})
}

// TestSwitchingGetsAllItsTime: a supply that answers "on" only when its output is up.
func TestSwitchingGetsAllItsTime(t *testing.T) {
	practised(t, 300*time.Millisecond, func(t *testing.T, s *Supply, b *box) {
		_, err := s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		_, err = s.SetCurrent(t.Context(), 1)
		require.NoError(t, err)
		b.do(func() { b.fault = b.late(250 * time.Millisecond) })
		require.NoError(t, s.Energise(t.Context()))
	})
}

// TestAnswerTimes: four times the longest of late, within a least time and the configured
// one; doubled with each answer that is missing.
func TestAnswerTimes(t *testing.T) {
	ms := func(n int) time.Duration { return time.Duration(n) * time.Millisecond }
	var p answerTime
	require.Equal(t, ms(500), p.within(ms(500)), "never answered: all of it")
	p.answered(ms(5))
	require.Equal(t, ms(250), p.within(ms(500)), "half")
	require.Equal(t, ms(150), p.within(ms(280)), "the least")
	require.Equal(t, ms(60), p.within(ms(60)), "the file's, where that is less")
	p.missed = 1
	require.Equal(t, ms(300), p.within(ms(300)), "twice, and never more than the file's")
	p.missed = 90
	require.Equal(t, ms(500), p.within(ms(500)))
	p.answered(ms(80))
	require.Equal(t, ms(320), p.within(ms(500)))
	for range 300 {
		p.answered(ms(5))
	}
	require.Equal(t, ms(250), p.within(ms(500)), "it was a while ago")
}
