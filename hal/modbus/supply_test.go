package modbus

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

func openBox(t *testing.T, framing Framing, change func(*box, *SupplyOptions)) (*Supply, *box, error) {
	t.Helper()
	b := newBox(framing)
	o := supplyOptions(t, b)
	change(b, &o)
	supply, err := OpenSupply(t.Context(), o)
	return supply, b, err
}

func inBubble(t *testing.T, framing Framing, test func(*testing.T, *Supply, *box)) {
	synctest.Test(t, func(t *testing.T) {
		supply, b, err := openBox(t, framing, func(*box, *SupplyOptions) {})
		require.NoError(t, err)
		test(t, supply, b)
	})
}

// TestBusyIsAskedOnce more, and then it is an error.
func TestBusyIsAskedOnce(t *testing.T) {
	for _, code := range []int{5, 6} {
		inBubble(t, RTU, func(t *testing.T, s *Supply, b *box) {
			b.do(func() { b.exception, b.times = code, 1 })
			_, err := s.SetVoltage(t.Context(), 5)
			require.NoError(t, err)
			b.do(func() { b.times = 2 })
			_, err = s.SetVoltage(t.Context(), 6)
			require.ErrorIs(t, err, hal.ErrRefused)
			_, err = s.SetVoltage(t.Context(), 6)
			require.NoError(t, err, "the line is still in step")
		})
	}
}

// TestGatewayWhoseTargetIsSilent is a time-out, and leaves doubt.
func TestGatewayWhoseTargetIsSilent(t *testing.T) {
	inBubble(t, TCP, func(t *testing.T, s *Supply, b *box) {
		_, err := s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		b.do(func() { b.exception, b.times = 0x0B, 1 })
		_, err = s.SetVoltage(t.Context(), 6)
		require.ErrorIs(t, err, hal.ErrTimeout)
		require.Error(t, s.Energise(t.Context()))
	})
}

// TestHaltGoesFirst: off is on the wire at once while another device on the same line
// is waited for, and while that one waits for silence.
func TestHaltGoesFirst(t *testing.T) {
	inBubble(t, RTU, func(t *testing.T, s *Supply, b *box) {
		_, err := s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		_, err = s.SetCurrent(t.Context(), 1)
		require.NoError(t, err)
		require.NoError(t, s.Energise(t.Context()))
		absent := &device{line: s.line, unit: 9, timeout: 10 * time.Second}
		for _, phase := range []time.Duration{time.Second, 15 * time.Second} {
			require.NoError(t, s.Halt(t.Context()))
			gone := make(chan error, 1)
			go func() {
				_, err := absent.exchange(context.Background(), reading(readDiscreteInputs, 0, 2))
				gone <- err
			}()
			<-time.After(phase)
			b.do(func() { b.hold[2] = 1 })
			began := time.Now()
			require.NoError(t, s.Halt(t.Context()))
			require.Less(t, time.Since(began), 100*time.Millisecond)
			b.do(func() { require.Zero(t, b.hold[2]) })
			require.Error(t, <-gone)
		}
	})
}

// TestHaltBlindIsOneFrame: on a serial line in doubt the first bytes are "off".
func TestHaltBlindIsOneFrame(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		inBubble(t, framing, func(t *testing.T, s *Supply, b *box) {
			b.do(func() { b.fault = func(*wire, []byte) {} })
			_, err := s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
			heard := len(b.lines())
			require.NoError(t, s.Halt(t.Context()))
			require.Equal(t, "01 06 00 02 00 00", b.lines()[heard])
		})
	}
}

// TestShiftedAnswers: answers are late, lost and doubled at random. Whatever is
// believed is what the supply held.
func TestShiftedAnswers(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		for _, loopback := range []bool{true, false} {
			t.Run(kind, func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) { shifted(t, framing, loopback) })
			})
		}
	}
}

func shifted(t *testing.T, framing Framing, loopback bool) {
	s, b, err := openBox(t, framing, func(_ *box, o *SupplyOptions) { o.Loopback = loopback })
	require.NoError(t, err)
	random := rand.New(rand.NewPCG(1, uint64(framing)))
	believed, failed := 0, 0
	for n := range 3000 {
		late := time.Duration(random.IntN(580)) * time.Millisecond
		switch random.IntN(8) {
		case 0:
			b.do(func() { b.fault = b.late(late) })
		case 1:
			b.do(func() { b.fault = func(*wire, []byte) {} })
		case 2:
			again := func(w *wire, a []byte) { reply(w, a); later(late)(w, a) }
			if framing == RTU { // one that comes into the next question's time would carry no mark
				again = func(w *wire, a []byte) { b.answer(w, slices.Concat(a, a)) }
			}
			b.do(func() { b.fault = again })
		}
		b.do(func() { b.hold[0] = uint16(n) })
		state, err := s.Check(t.Context())
		if err != nil {
			failed++
			continue
		}
		believed++
		require.InDelta(t, float64(n)/100, float64(state.SetVolts), 1e-9)
		_, err = s.Measure(t.Context())
		if errors.Is(err, hal.ErrNoReading) {
			failed++
		}
	}
	require.Greater(t, believed, 1000)
	require.Greater(t, failed, 100)
}

func TestOpeningRefused(t *testing.T) {
	for want, change := range map[string]func(*box, *SupplyOptions){
		"no line":                                func(_ *box, o *SupplyOptions) { o.Line = nil },
		"unit 0":                                 func(_ *box, o *SupplyOptions) { o.Unit = 0 },
		"timeout 1µs":                            func(_ *box, o *SupplyOptions) { o.Timeout = time.Microsecond },
		"within the map's max of 120 V":          func(_ *box, o *SupplyOptions) { o.HighestVolts = 121 },
		"within the map's max of 5 A":            func(_ *box, o *SupplyOptions) { o.HighestAmperes = 0 },
		`mains_return ""`:                        func(_ *box, o *SupplyOptions) { o.MainsReturn = "" },
		"map: status":                            func(_ *box, o *SupplyOptions) { o.Map.Status.CV = 99 },
		"write loopback: false":                  func(b *box, _ *SupplyOptions) { b.lacks[8] = true },
		"map: read 2 of table input":             func(_ *box, o *SupplyOptions) { o.Map.MeasuredVoltage.Address = 0x200 },
		"look at address, unit, baud and parity": func(_ *box, o *SupplyOptions) { o.Unit = 3 },
		"device is gone":                         func(b *box, _ *SupplyOptions) { b.cut = true },
	} {
		synctest.Test(t, func(t *testing.T) {
			_, _, err := openBox(t, RTU, change)
			require.ErrorContains(t, err, want)
		})
	}
	_, err := NewLine(LineOptions{})
	require.ErrorContains(t, err, "no way to connect")
	_, err = NewLine(LineOptions{Dial: newBox(TCP).dial, Gap: -1})
	require.ErrorContains(t, err, "negative")
}

// TestSilentIdentificationIsDoneWithout: a device that does not even refuse it.
func TestSilentIdentificationIsDoneWithout(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _, err := openBox(t, RTU, func(b *box, _ *SupplyOptions) { b.deafTo = encapsulated })
		require.NoError(t, err)
		identity, err := s.Identify(t.Context())
		require.NoError(t, err)
		require.Equal(t, hal.Identity{Maker: "unknown", Model: "Modbus unit 1"}, identity)
	})
}

// TestIdentityIsAskedForAgain: one answer that was missed is not a supply that cannot
// tell who it is, which would hide that it is SIMULATED.
func TestIdentityIsAskedForAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _, err := openBox(t, RTU, func(b *box, _ *SupplyOptions) { b.deafTo, b.deafFor = encapsulated, identityRetries })
		require.NoError(t, err)
		identity, err := s.Identify(t.Context())
		require.NoError(t, err)
		require.Equal(t, "PS-2 SIMULATED", identity.Model)
	})
}

func TestSecondCallIsRefused(t *testing.T) {
	inBubble(t, RTU, func(t *testing.T, s *Supply, _ *box) {
		require.NoError(t, s.own())
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, errBusy)
		require.ErrorIs(t, s.Halt(t.Context()), errBusy)
		s.disown()
		require.NoError(t, s.Halt(t.Context()))
	})
}
