package chip

import (
	"context"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2ctest"

	"anodized/hal"
	"anodized/hal/unit"
)

func asked(register byte, answer ...byte) i2ctest.IO {
	return i2ctest.IO{W: []byte{register}, R: answer}
}

// read takes one reading of an input in a bubble, where waiting takes no time.
func read(t *testing.T, open func(i2c.Bus) Input, address uint16, exchanges ...i2ctest.IO) (volts unit.Volts, took time.Duration, err error) {
	t.Helper()
	bus := recorded(t, address, exchanges...)
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		volts, err = open(bus).Read(t.Context())
		took = time.Since(began)
	})
	return volts, took, err
}

func ain(channel int) func(i2c.Bus) Input {
	return func(bus i2c.Bus) Input {
		chip, err := NewADS1115(bus, 0x48, 4.096)
		if err != nil {
			panic(err)
		}
		return chip.Channel(channel)
	}
}

// TestADS1115: AIN0 and AIN1 at 4.096 V; 3.18 V is 6360 (computed from the sheet's
// 125 uV a code).
func TestADS1115(t *testing.T) {
	volts, took, err := read(t, ain(0), 0x48, sent(1, 0xC3, 0x83), asked(1, 0x43, 0x83), asked(1, 0xC3, 0x83), asked(0, 0x63, 0x60))
	require.NoError(t, err)
	require.InDelta(t, 3.18, float64(volts), 1e-9)
	require.Greater(t, took, 7*time.Millisecond, "no result is there before the conversion's time")
	volts, _, err = read(t, ain(1), 0x48, sent(1, 0xD3, 0x83), asked(1, 0xD3, 0x83), asked(0, 0xFF, 0xFF))
	require.NoError(t, err)
	require.InDelta(t, -125e-6, float64(volts), 1e-12)
}

func TestADS1115AtTheEndOfItsRangeIsNoReading(t *testing.T) {
	for _, code := range [][]byte{{0x7F, 0xFF}, {0x80, 0x00}} {
		_, _, err := read(t, ain(0), 0x48, sent(1, 0xC3, 0x83), asked(1, 0xC3, 0x83), asked(0, code...))
		require.ErrorIs(t, err, ErrSaturated)
	}
}

// TestADS1115NeverGivesAnotherChannelsResult: the chip restarted, or was told
// something else, between our write and our look.
func TestADS1115NeverGivesAnotherChannelsResult(t *testing.T) {
	for _, config := range [][]byte{{0x85, 0x83}, {0xC3, 0x83}, {0xFF, 0xFF}, {0, 0}} {
		_, _, err := read(t, ain(1), 0x48, sent(1, 0xD3, 0x83), asked(1, config...))
		require.ErrorIs(t, err, hal.ErrNoReading, "% X", config)
	}
}

func TestADS1115ThatNeverFinishesTimesOut(t *testing.T) {
	exchanges := []i2ctest.IO{sent(1, 0xC3, 0x83)}
	for range 25 {
		exchanges = append(exchanges, asked(1, 0x43, 0x83))
	}
	_, took, err := read(t, ain(0), 0x48, exchanges...)
	require.ErrorIs(t, err, hal.ErrTimeout)
	require.Less(t, took, 50*time.Millisecond)
}

func TestADS1115HasSixRanges(t *testing.T) {
	for gain, span := range []unit.Volts{6.144, 4.096, 2.048, 1.024, 0.512, 0.256} {
		chip, err := NewADS1115(nil, 0x48, span)
		require.NoError(t, err)
		require.Equal(t, uint16(gain), chip.gain)
	}
	_, err := NewADS1115(nil, 0x48, 5)
	require.ErrorContains(t, err, "not a range")
}

func ina226(bus i2c.Bus) Input      { return NewINA226(bus, 0x40).Shunt() }
func ina226Pin(bus i2c.Bus) Input   { return NewINA226(bus, 0x40).Bus() }
func ina228(bus i2c.Bus) Input      { return NewINA228(bus, 0x45, false).Shunt() }
func ina228Pin(bus i2c.Bus) Input   { return NewINA228(bus, 0x45, false).Bus() }
func ina228Small(bus i2c.Bus) Input { return NewINA228(bus, 0x45, true).Shunt() }

// converted226 is a conversion of an INA226 and its result.
func converted226(result i2ctest.IO) []i2ctest.IO {
	return []i2ctest.IO{asked(6, 0, 8), sent(0, 0x43, 0x23), asked(6, 0, 0), asked(6, 0, 8), asked(0, 0x43, 0x20), result}
}

// TestINA226: 50 mV across the shunt is 20000, as in the data sheet's example.
func TestINA226(t *testing.T) {
	volts, took, err := read(t, ina226, 0x40, converted226(asked(1, 0x4E, 0x20))...)
	require.NoError(t, err)
	require.InDelta(t, 0.05, float64(volts), 1e-12)
	require.GreaterOrEqual(t, took, 7*time.Millisecond)
	volts, _, err = read(t, ina226, 0x40, converted226(asked(1, 0xFF, 0xFE))...)
	require.NoError(t, err)
	require.InDelta(t, -5e-6, float64(volts), 1e-12)
	volts, _, err = read(t, ina226Pin, 0x40, converted226(asked(2, 0x25, 0x80))...)
	require.NoError(t, err)
	require.InDelta(t, 12, float64(volts), 1e-9)
	for _, code := range [][]byte{{0x7F, 0xFF}, {0x80, 0}} {
		_, _, err = read(t, ina226, 0x40, converted226(asked(1, code...))...)
		require.ErrorIs(t, err, ErrSaturated)
	}
	_, _, err = read(t, ina226Pin, 0x40, converted226(asked(2, 0x70, 0x80))...)
	require.ErrorIs(t, err, ErrSaturated, "36 V")
}

func TestINA226ThatRestartedGivesNoReading(t *testing.T) {
	exchanges := converted226(asked(1, 0, 0))[:5]
	exchanges[4] = asked(0, 0x41, 0x27)
	_, _, err := read(t, ina226, 0x40, exchanges...)
	require.ErrorIs(t, err, hal.ErrNoReading)
}

func converted228(config byte, result i2ctest.IO) []i2ctest.IO {
	return []i2ctest.IO{sent(0, 0, config), sent(1, 0x3B, 0x69), asked(0x0B, 0, 2), asked(0, 0, config), asked(1, 0x0B, 0x69), result}
}

// TestINA228: 50 mV is 27 10 00 in 24 bits (computed from 312.5 nV a code).
func TestINA228(t *testing.T) {
	volts, _, err := read(t, ina228, 0x45, converted228(0, asked(4, 0x27, 0x10, 0x00))...)
	require.NoError(t, err)
	require.InDelta(t, 0.05, float64(volts), 1e-12)
	volts, _, err = read(t, ina228Small, 0x45, converted228(0x10, asked(4, 0xFF, 0xFF, 0xF0))...)
	require.NoError(t, err)
	require.InDelta(t, -78.125e-9, float64(volts), 1e-15)
	volts, _, err = read(t, ina228Pin, 0x45, converted228(0, asked(5, 0x0F, 0x00, 0x00))...)
	require.NoError(t, err)
	require.InDelta(t, 12, float64(volts), 1e-9)
	for _, code := range [][]byte{{0x7F, 0xFF, 0xF0}, {0x80, 0, 0}} {
		_, _, err = read(t, ina228, 0x45, converted228(0, asked(4, code...))...)
		require.ErrorIs(t, err, ErrSaturated)
	}
	_, _, err = read(t, ina228Pin, 0x45, converted228(0, asked(5, 0x6A, 0x40, 0x00))...)
	require.ErrorIs(t, err, ErrSaturated, "85 V")
}

func TestMonitorsAreKnownByTheirNumbers(t *testing.T) {
	bus := recorded(t, 0x45, asked(0x3E, 0x54, 0x49), asked(0x3F, 0x22, 0x81))
	require.NoError(t, ina228(bus).Start(t.Context()))
	bus = recorded(t, 0x45, asked(0x3E, 0x54, 0x49), asked(0x3F, 0x23, 0x81))
	require.ErrorContains(t, ina228(bus).Start(t.Context()), "another chip")
	wrong := &answering{answer: func(_ uint16, _, r []byte) error { copy(r, []byte{0x22, 0x60}); return nil }}
	require.ErrorContains(t, ina226(wrong).Start(t.Context()), "another chip")
}

func TestABusThatFailsIsGone(t *testing.T) {
	dead := &answering{answer: func(uint16, []byte, []byte) error { return errBus }}
	for _, open := range []func(i2c.Bus) Input{ain(0), ina226, ina226Pin, ina228, ina228Pin} {
		_, err := open(dead).Read(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorIs(t, open(dead).Start(t.Context()), hal.ErrGone)
	}
}

func TestACancelledConversionIsCutOff(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	zeros := &answering{answer: func(uint16, []byte, []byte) error { return nil }}
	for _, open := range []func(i2c.Bus) Input{ain(0), ina226, ina228} {
		_, err := open(zeros).Read(ctx)
		require.ErrorIs(t, err, context.Canceled)
	}
}

// FuzzAnswers: whatever a bus answers, a reading is an error or within the chip's
// range, and a power-up code other than zero is never passed.
func FuzzAnswers(f *testing.F) {
	f.Add([]byte{0xC3, 0x83, 0x63, 0x60})
	f.Add([]byte{0x00, 0x08, 0x43, 0x23, 0x4E, 0x20})
	f.Add([]byte{0xC0, 0, 0, 8, 0})
	f.Fuzz(func(t *testing.T, answers []byte) {
		synctest.Test(t, func(t *testing.T) {
			for _, open := range []func(i2c.Bus) Input{ain(2), ina226, ina226Pin, ina228, ina228Pin, ina228Small} {
				volts, err := open(repeating(answers)).Read(t.Context())
				require.False(t, math.IsNaN(float64(volts)))
				require.True(t, err != nil || volts >= -4.096 && volts < 85, "%v", volts)
			}
			var state [5]byte
			copy(state[:], answers)
			decoded := decodeMCP4725(state)
			require.True(t, decoded.powerUp != 0 || state[3]&0x0F == 0 && state[4] == 0)
			require.Less(t, decoded.code, 4096)
		})
	})
}

// repeating answers these bytes again and again.
func repeating(answers []byte) i2c.Bus {
	next := 0
	return &answering{answer: func(_ uint16, _, r []byte) error {
		for i := range r {
			if len(answers) > 0 {
				r[i] = answers[next%len(answers)]
				next++
			}
		}
		return nil
	}}
}

func BenchmarkDecode(b *testing.B) {
	for b.Loop() {
		_ = left20([3]byte{0x27, 0x10, 0x00})
		_ = decodeMCP4725([5]byte{0xC0, 0x80, 0, 0, 0})
	}
}
