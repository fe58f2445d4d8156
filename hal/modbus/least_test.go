package modbus

import (
	"context"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

// leastWords are what this supply holds at its least: 1.51 V and 0.05 A.
const leastRequest = "01 10 00 00 00 02 04 00 97 00 05"

// leastIsOn is a supply that cannot be set below 1.51 V and 0.05 A, on, at 5 V and 1 A.
func leastIsOn(t *testing.T, framing Framing, test func(*testing.T, *Supply, *box)) {
	synctest.Test(t, func(t *testing.T) {
		s, b, err := openBox(t, framing, leastAbove)
		require.NoError(t, err)
		_, err = s.SetVoltage(t.Context(), 5)
		require.NoError(t, err)
		_, err = s.SetCurrent(t.Context(), 1)
		require.NoError(t, err)
		require.NoError(t, s.Energise(t.Context()))
		test(t, s, b)
	})
}

func (b *box) holds() (volts, amperes uint16) {
	b.do(func() { volts, amperes = b.hold[0], b.hold[1] })
	return volts, amperes
}

// TestZeroIsTheLeast where the map has one above zero; what lies between is refused.
func TestZeroIsTheLeast(t *testing.T) {
	leastIsOn(t, RTU, func(t *testing.T, s *Supply, b *box) {
		require.False(t, s.Limits().Starvable())
		volts, err := s.SetVoltage(t.Context(), 0)
		require.NoError(t, err)
		require.Equal(t, unit.Volts(1.51), volts)
		amperes, err := s.SetCurrent(t.Context(), 0)
		require.NoError(t, err)
		require.Equal(t, unit.Amperes(0.05), amperes)
		for _, between := range []unit.Volts{0.01, 1, 1.505} {
			_, err = s.SetVoltage(t.Context(), between)
			require.ErrorIs(t, err, hal.ErrRange)
			require.ErrorContains(t, err, "1.51 to 120 V")
		}
	})
}

// TestZeroRaisesNothing: a supply that was turned down by hand, or restarted, below the
// least of its map stays there while its output may be on.
func TestZeroRaisesNothing(t *testing.T) {
	for _, framing := range []Framing{TCP, RTU} {
		leastIsOn(t, framing, func(t *testing.T, s *Supply, b *box) {
			b.do(func() { b.hold[0], b.hold[1] = 100, 2 })
			volts, err := s.SetVoltage(t.Context(), 0)
			require.NoError(t, err)
			require.Equal(t, unit.Volts(1), volts, "who needs to know compares")
			amperes, err := s.SetCurrent(t.Context(), 0)
			require.NoError(t, err)
			require.Equal(t, unit.Amperes(0.02), amperes)
			require.NoError(t, s.Halt(t.Context()))
			volts, err = s.SetVoltage(t.Context(), 0)
			require.NoError(t, err)
			require.Equal(t, unit.Volts(1.51), volts, "with the output off nothing is energised by it")
		})
	}
}

// TestBlindOffRaisesNothing: on a line in doubt both setpoints go down to their least,
// but only where more is known to have been left.
func TestBlindOffRaisesNothing(t *testing.T) {
	leastIsOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		b.do(func() { b.silent = true })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		heard := len(b.lines())
		require.Error(t, s.Halt(t.Context()))
		synctest.Wait()
		require.Equal(t, []string{offRequest, leastRequest}, b.lines()[heard:heard+2])
	})
	leastIsOn(t, TCP, func(t *testing.T, s *Supply, b *box) {
		s.volts, s.amperes = nil, nil // what a supply that restarted leaves us with
		b.do(func() { b.hold[0], b.hold[1], b.silent = 0, 0, true })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		require.Error(t, s.Halt(context.Background()))
		synctest.Wait()
		volts, amperes := b.holds()
		require.Zero(t, volts)
		require.Zero(t, amperes)
	})
}

// TestLeastAtItsHighest leaves nothing to set.
func TestLeastAtItsHighest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		_, _, err := openBox(t, RTU, func(b *box, o *SupplyOptions) {
			leastAbove(b, o)
			o.HighestVolts = 1.5
		})
		require.ErrorContains(t, err, "highest voltage 1.5 V: above 1.51")
	})
}
