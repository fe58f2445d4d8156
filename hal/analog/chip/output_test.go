package chip

import (
	"errors"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/conntest"
	"periph.io/x/conn/v3/i2c/i2ctest"
	"periph.io/x/conn/v3/physic"
	"periph.io/x/conn/v3/spi"
	"periph.io/x/conn/v3/spi/spitest"

	"anodized/hal"
)

// recorded is an I2C bus that knows these exchanges and no other.
func recorded(t *testing.T, address uint16, exchanges ...i2ctest.IO) *i2ctest.Playback {
	t.Helper()
	for i := range exchanges {
		exchanges[i].Addr = address
	}
	bus := &i2ctest.Playback{Ops: exchanges, DontPanic: true}
	t.Cleanup(func() { require.NoError(t, bus.Close(), "every recorded exchange happened") })
	return bus
}

func sent(bytes ...byte) i2ctest.IO     { return i2ctest.IO{W: bytes} }
func received(bytes ...byte) i2ctest.IO { return i2ctest.IO{R: bytes} }

// TestMCP4725Writes: 4095 and 2048 as in a public driver's test.
func TestMCP4725Writes(t *testing.T) {
	chip := NewMCP4725(recorded(t, 0x60, sent(0x40, 0xFF, 0xF0), sent(0x40, 0x80, 0x00), sent(0x40, 0, 0)), 0x60, 5)
	for _, code := range []int{4095, 2048, 0} {
		require.NoError(t, chip.Write(code))
	}
	require.ErrorIs(t, chip.Write(4096), hal.ErrRange)
	require.ErrorIs(t, chip.Write(-1), hal.ErrRange)
}

func TestMCP4725StartsAtZeroOnly(t *testing.T) {
	start := func(state ...byte) error {
		return NewMCP4725(recorded(t, 0x60, sent(0x40, 0, 0), received(state...), received(state...)), 0x60, 5).Start(t.Context())
	}
	require.NoError(t, start(0xC0, 0, 0, 0, 0))
	err := start(0xC0, 0, 0, 0x08, 0x00)
	require.ErrorIs(t, err, hal.ErrRefused)
	require.ErrorContains(t, err, "2048 of 4096, 2.50 V")
	require.ErrorContains(t, err, "commission the chip")
}

func TestMCP4725IsNotBelievedWhileItIsBusyOrAsleepOrDeaf(t *testing.T) {
	start := func(state ...byte) error {
		return NewMCP4725(recorded(t, 0x61, sent(0x40, 0, 0), received(state...)), 0x61, 5).Start(t.Context())
	}
	require.ErrorContains(t, start(0x40, 0, 0, 0, 0), "writing its EEPROM")
	require.ErrorContains(t, start(0xC2, 0, 0, 0, 0), "power-down")
	require.ErrorIs(t, start(0xC0, 0x80, 0, 0, 0), hal.ErrMismatch)
	require.ErrorIs(t, NewMCP4725(recorded(t, 0x60), 0x62, 5).Start(t.Context()), hal.ErrGone)
}

// TestMCP4725Commission waits for the EEPROM, and believes nothing before.
func TestMCP4725Commission(t *testing.T) {
	commission := func(answers ...i2ctest.IO) (err error) {
		chip := NewMCP4725(recorded(t, 0x60, append([]i2ctest.IO{sent(0x60, 0, 0)}, answers...)...), 0x60, 5)
		synctest.Test(t, func(t *testing.T) { err = chip.Commission(t.Context()) })
		return err
	}
	busy, half, zero := received(0x40, 0, 0, 8, 0), received(0xC0, 0, 0, 8, 0), received(0xC0, 0, 0, 0, 0)
	require.NoError(t, commission(busy, busy, zero))
	require.ErrorIs(t, commission(busy, half), hal.ErrMismatch)
	forever := make([]i2ctest.IO, 101)
	for i := range forever {
		forever[i] = busy
	}
	require.ErrorIs(t, commission(forever...), hal.ErrTimeout)
}

func TestAD5693R(t *testing.T) {
	zero := []i2ctest.IO{sent(0x30, 0, 0), received(0, 0)}
	ops := append(append(append([]i2ctest.IO{}, zero...), sent(0x40, 0x08, 0)), zero...)
	chip := NewAD5693R(recorded(t, 0x4C, append(ops, sent(0x30, 0x12, 0x34), received(0x12, 0x34))...), 0x4C, true)
	require.NoError(t, chip.Start(t.Context()))
	require.InDelta(t, 5, float64(chip.FullScale()), 0)
	require.NoError(t, chip.Write(0x1234))
	code, err := chip.Read()
	require.NoError(t, err)
	require.Equal(t, 0x1234, code)
	require.ErrorIs(t, chip.Write(1<<16), hal.ErrRange)

	notZero := NewAD5693R(recorded(t, 0x4C, sent(0x30, 0, 0), received(0x80, 0)), 0x4C, false)
	require.ErrorIs(t, notZero.Start(t.Context()), hal.ErrMismatch)
	require.InDelta(t, 2.5, float64(notZero.FullScale()), 0)
}

// spiRecorded is an SPI connection that knows these writes and no other.
func spiRecorded(t *testing.T, writes ...[]byte) spi.Conn {
	t.Helper()
	port := &spitest.Playback{Playback: conntest.Playback{DontPanic: true}}
	for _, w := range writes {
		port.Ops = append(port.Ops, conntest.IO{W: w, R: make([]byte, len(w))})
	}
	t.Cleanup(func() { require.NoError(t, port.Close()) })
	connection, err := port.Connect(physic.MegaHertz, spi.Mode1, 8)
	require.NoError(t, err)
	return connection
}

// TestDAC8562: zeros go out before the reference is switched on, once for both
// channels; the commands are those of public drivers.
func TestDAC8562(t *testing.T) {
	chip := NewDAC8562(spiRecorded(t, []byte{0x18, 0, 0}, []byte{0x19, 0, 0}, []byte{0x30, 0, 3}, []byte{0x38, 0, 1},
		[]byte{0x18, 0, 0}, []byte{0x19, 0, 0}, []byte{0x18, 0x80, 0x01}, []byte{0x19, 0xFF, 0xFF}))
	a, b := chip.Channel(0), chip.Channel(1)
	require.NoError(t, a.Start(t.Context()))
	require.NoError(t, b.Start(t.Context()))
	require.NoError(t, a.Write(0x8001))
	require.NoError(t, b.Write(0xFFFF))
	_, err := a.Read()
	require.ErrorIs(t, err, ErrWriteOnly)
	require.ErrorIs(t, b.Write(1<<16), hal.ErrRange)
	require.ErrorIs(t, a.Write(1), hal.ErrGone, "the recording has ended")
	require.InDelta(t, 5, float64(b.FullScale()), 0)
}

// answering is an I2C bus that answers what it is told and fails when told.
type answering struct {
	i2ctest.Record
	answer func(address uint16, w, r []byte) error
}

func (a *answering) Tx(address uint16, w, r []byte) error { return a.answer(address, w, r) }

var errBus = errors.New("no acknowledge")
