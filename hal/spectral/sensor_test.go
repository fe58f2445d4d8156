package spectral

import (
	"encoding/binary"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2ctest"

	"anodized/hal"
	"anodized/hal/haltest/stand"
)

func fitted(t testing.TB, bus i2c.Bus) *Sensor {
	t.Helper()
	s, err := New(Options{Bus: bus, Milliamps: 20, Gain: 64, White: 0.98})
	require.NoError(t, err)
	return s
}

// passes are the recorded exchanges of one measurement: registers, words and times of the
// data sheet, from memory, the multiplexer's words as public drivers have them.
func passes(low, high [6]uint16, after byte) []i2ctest.IO {
	write := func(bytes ...byte) i2ctest.IO { return i2ctest.IO{Addr: 0x39, W: bytes} }
	read := func(register byte, bytes ...byte) i2ctest.IO {
		return i2ctest.IO{Addr: 0x39, W: []byte{register}, R: bytes}
	}
	all := []i2ctest.IO{write(0xA9, 0), write(0x80, 1), write(0x81, 29), write(0xCA, 0xCF, 0x07), write(0xAA, 7),
		write(0xA9, 0x10), write(0x70, 0x08), write(0x74, 0x88), write(0xA9, 0)}
	for pass, counts := range [][6]uint16{low, high} {
		words := [][]byte{
			{0, 0x30, 1, 0, 0, 0, 0x42, 0, 0, 0x50, 0, 0, 0, 0x20, 4, 0, 0x30, 1, 0x50, 0, 6},
			{0, 0, 0, 0, 0x40, 2, 0, 0x10, 3, 0x50, 0x10, 3, 0, 0, 0, 0x24, 0, 0, 0x50, 0, 6}}[pass]
		answer := []byte{7}
		for _, count := range counts {
			answer = binary.LittleEndian.AppendUint16(answer, count)
		}
		all = append(all, write(0x80, 1), write(0xAF, 0x10), write(words...), write(0x80, 0x11), read(0x80, 0x11), read(0x80, 0x01),
			write(0x80, 0x03), read(0xA3, 0), read(0xA3, 0x40), read(0x94, answer...))
	}
	return append(all, read(0x81, after), read(0xCA, 0xCF, 0x07), read(0xAA, 7),
		write(0x80, 0), write(0xA9, 0x10), write(0x74, 0), write(0xA9, 0))
}

// TestMeasurement: the bytes of both references and of a part, each exchange once. The
// part gives back half of what the white reference does, which itself gives back 0.98.
func TestMeasurement(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		dark, white, half := [6]uint16{100, 100, 100, 100}, [6]uint16{20100, 30100, 40100, 50100}, [6]uint16{10100, 15100, 20100, 25100}
		bus := &i2ctest.Playback{DontPanic: true}
		bus.Ops = append(bus.Ops, i2ctest.IO{Addr: 0x39, W: []byte{0x92}, R: []byte{0x24}})
		for _, counts := range [][6]uint16{dark, white, half} {
			bus.Ops = append(bus.Ops, passes(counts, counts, 29)...)
		}
		s := fitted(t, bus)
		require.NoError(t, s.Present(t.Context()))
		require.NoError(t, s.TakeDark(t.Context()))
		require.NoError(t, s.TakeWhite(t.Context()))
		got, err := s.Measure(t.Context())
		require.NoError(t, err)
		require.Len(t, got.Reflectance, 8)
		for i, share := range got.Reflectance {
			assert.InDelta(t, 0.49, share, 1e-12)
			assert.Equal(t, Bands[i].Middle, got.Nanometres[i])
		}
		require.NoError(t, bus.Close())
	})
}

// rig is the driver over the fake with registers, references taken.
func rig(t *testing.T) (*Sensor, *stand.Spectral) {
	lies := []float64(nil)
	chip := stand.NewSpectral(time.Now, func() []float64 { return lies })
	s := fitted(t, chip)
	require.NoError(t, s.TakeDark(t.Context()))
	require.ErrorIs(t, s.TakeWhite(t.Context()), hal.ErrNoReading, "nothing white lies there")
	lies = []float64{1, 1, 1, 1, 1, 1, 1, 1}
	require.NoError(t, s.TakeWhite(t.Context()))
	lies = []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8}
	got, err := s.Measure(t.Context())
	require.NoError(t, err)
	for i, share := range got.Reflectance {
		require.InDelta(t, 0.98*lies[i], share, 1e-3)
	}
	require.False(t, chip.Lit(), "the lamp is off between measurements")
	return s, chip
}

func TestWhatIsNoReading(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*stand.Spectral)
		is    error
		says  string
		again string // what the next measurement says; "" for nothing
	}{
		"lost power":  {(*stand.Spectral).Restart, hal.ErrNoReading, "lost its power, and its references", "take the dark and the white reference first"},
		"saturated":   {func(s *stand.Spectral) { s.Shine(4) }, hal.ErrNoReading, "saturated", "saturated"},
		"not ready":   {(*stand.Spectral).Jam, hal.ErrNoReading, "does not end", "does not end"},
		"not there":   {(*stand.Spectral).Unplug, hal.ErrGone, "no acknowledge", "no acknowledge"},
		"old":         {func(*stand.Spectral) { <-time.After(MostAge + time.Second) }, hal.ErrNoReading, "older than 4h", "older than"},
		"nothing bad": {func(*stand.Spectral) {}, nil, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s, chip := rig(t)
				c.spoil(chip)
				for _, says := range []string{c.says, c.again} {
					got, err := s.Measure(t.Context())
					if says == "" {
						require.NoError(t, err)
						continue
					}
					require.ErrorIs(t, err, c.is)
					require.ErrorContains(t, err, says)
					require.Empty(t, got.Reflectance)
				}
				require.False(t, chip.Lit(), "the lamp is off, whatever failed")
			})
		})
	}
}

func TestAnotherChip(t *testing.T) {
	bus := &i2ctest.Playback{DontPanic: true, Ops: []i2ctest.IO{{Addr: 0x39, W: []byte{0x92}, R: []byte{0xFF}}}}
	err := fitted(t, bus).Present(t.Context())
	require.ErrorIs(t, err, hal.ErrGone)
	require.ErrorContains(t, err, "another chip answers")
}

func TestWrongOptions(t *testing.T) {
	chip := stand.NewSpectral(time.Now, func() []float64 { return nil })
	for why, o := range map[string]Options{
		"no bus":                  {Milliamps: 20, Gain: 64, White: 1},
		"3 mA":                    {Bus: chip, Milliamps: 3, Gain: 64, White: 1},
		"gain 3":                  {Bus: chip, Milliamps: 20, Gain: 3, White: 1},
		"white reference gives b": {Bus: chip, Milliamps: 20, Gain: 64, White: 0.2},
	} {
		_, err := New(o)
		require.ErrorContains(t, err, why)
	}
}

// FuzzDecode: what is taken is within the range.
func FuzzDecode(f *testing.F) {
	f.Add([]byte{7, 1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0}, byte(0x40))
	f.Add([]byte{0x87}, byte(0))
	s := fitted(f, stand.NewSpectral(time.Now, func() []float64 { return nil }))
	f.Fuzz(func(t *testing.T, bytes []byte, state byte) {
		var answer [13]byte
		copy(answer[:], bytes)
		four, err := s.decode(state, answer)
		if err != nil {
			require.True(t, errors.Is(err, hal.ErrNoReading))
			return
		}
		for _, count := range four {
			require.Less(t, count, float64(mostCount))
		}
	})
}
