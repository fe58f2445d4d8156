package bench

import (
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/conntest"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2ctest"
	"periph.io/x/conn/v3/spi"
	"periph.io/x/conn/v3/spi/spitest"

	"anodized/hal"
	"anodized/profiles"
)

// converterBoard is the I2C bus of testdata/good/bench-analog.yaml: two MCP4725, an
// ADS1115, an INA226; nothing hangs on the supply, and its output is off.
type converterBoard struct {
	i2ctest.Record
	mu      sync.Mutex
	codes   map[uint16]int
	powerUp map[uint16]int
	config  uint16
	closed  int
}

func newConverterBoard() *converterBoard {
	return &converterBoard{codes: map[uint16]int{0x60: 2048, 0x61: 2048}, powerUp: map[uint16]int{}}
}

func (b *converterBoard) Close() error { b.closed++; return nil }

func (b *converterBoard) Tx(address uint16, w, r []byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch address {
	case 0x60, 0x61:
		b.dac(address, w, r)
	case 0x48, 0x40:
		if len(w) == 3 {
			b.config = uint16(w[1])<<8 | uint16(w[2])
		}
		b.answer(address, w, r)
	default:
		return errors.New("no acknowledge")
	}
	return nil
}

func (b *converterBoard) dac(address uint16, w, r []byte) {
	if len(w) == 3 {
		b.codes[address] = int(w[1])<<4 | int(w[2])>>4
		if w[0] == 0x60 {
			b.powerUp[address] = b.codes[address]
		}
	}
	if len(r) == 5 {
		code, kept := b.codes[address], b.powerUp[address]
		copy(r, []byte{0xC0, byte(code >> 4), byte(code << 4), byte(kept >> 8), byte(kept)})
	}
}

func (b *converterBoard) answer(address uint16, w, r []byte) {
	if len(r) != 2 {
		return
	}
	values := map[byte]uint16{1: b.config, 0: 0} // of the ADS1115
	if address == 0x40 {
		values = map[byte]uint16{0: b.config, 1: 0, 6: 8, 0xFE: 0x5449, 0xFF: 0x2260}
	}
	r[0], r[1] = byte(values[w[0]]>>8), byte(values[w[0]])
}

func analogBench(t *testing.T, name string) profiles.Bench {
	t.Helper()
	content, err := os.ReadFile(filepath.Join("../../testdata/good", name))
	require.NoError(t, err)
	b, err := profiles.ReadBench(name, content)
	require.NoError(t, err)
	return b
}

// analogSet is a computer with this board on its bus and the enable line on a chip.
func analogSet(board *converterBoard) (*Set, *shelf) {
	s := newShelf()
	s.labels["/dev/gpiochip1"] = append(s.labels["/dev/gpiochip1"], "SUPPLY-ENABLE")
	return &Set{log: slog.New(slog.DiscardHandler), chips: s.chips(), buses: buses{
		i2c: func(path string) (i2c.BusCloser, error) {
			if path != "/dev/i2c-1" {
				return nil, hal.ErrGone
			}
			return board, nil
		},
		spi: func(string) (spi.PortCloser, error) {
			return &spitest.Playback{Playback: conntest.Playback{DontPanic: true}}, nil
		},
	}}, s
}

// TestOpensAnAnalogueSupply as its file says: the contact first, then the converters,
// which were left at half scale.
func TestOpensAnAnalogueSupply(t *testing.T) { synctest.Test(t, opensAnAnalogueSupply) }

func opensAnAnalogueSupply(t *testing.T) {
	b, board := analogBench(t, "bench-analog.yaml"), newConverterBoard()
	set, shelf := analogSet(board)
	require.NoError(t, Check(b))
	require.NoError(t, openAnalog(t.Context(), set, b.Supply))
	require.Contains(t, shelf.said, "open /dev/gpiochip1")
	require.Equal(t, map[uint16]int{0x60: 0, 0x61: 0}, board.codes)

	held, err := set.Supply.SetVoltage(t.Context(), 66)
	require.NoError(t, err)
	// The file's calibration: 1.0009 of nominal and 81 mV below; nominal is code 2252.
	require.InDelta(t, 66, float64(held), 0.03)
	require.LessOrEqual(t, float64(held), 66.0)
	require.Equal(t, 2253, board.codes[0x60])
	_, err = set.Supply.SetCurrent(t.Context(), 4.1)
	require.ErrorIs(t, err, hal.ErrRange)
	sample, err := set.Supply.Measure(t.Context())
	require.NoError(t, err)
	require.InDelta(t, 0, float64(sample.Amperes), 1e-9)
	require.NoError(t, set.Close())
	require.Equal(t, 1, board.closed, "one bus for all chips")
	require.Zero(t, board.codes[0x60])
}

func TestAnAnalogueSupplyThatCannotBeOpened(t *testing.T) {
	synctest.Test(t, anAnalogueSupplyThatCannotBeOpened)
}

func anAnalogueSupplyThatCannotBeOpened(t *testing.T) {
	for want, spoil := range map[string]func(*profiles.Bench, *converterBoard){
		"commission the chip": func(_ *profiles.Bench, board *converterBoard) { board.powerUp[0x61] = 2048 },
		"read current":        func(b *profiles.Bench, _ *converterBoard) { b.Supply.Analog.ReadCurrent.Bus = "/dev/i2c-7" },
		"at 0x49":             func(b *profiles.Bench, _ *converterBoard) { b.Supply.Analog.ReadVoltage.Address = 0x49 },
		"converter \"lm358\"": func(b *profiles.Bench, _ *converterBoard) { b.Supply.Analog.SetVoltage.Chip = "lm358" },
		"not a range":         func(b *profiles.Bench, _ *converterBoard) { b.Supply.Analog.ReadVoltage.Span = 5 },
		"no chip has":         func(b *profiles.Bench, _ *converterBoard) { b.Supply.Analog.Enable.Line = "NOWHERE" },
	} {
		b, board := analogBench(t, "bench-analog.yaml"), newConverterBoard()
		spoil(&b, board)
		set, _ := analogSet(board)
		require.ErrorContains(t, openAnalog(t.Context(), set, b.Supply), want)
		require.NoError(t, set.Close())
	}
}

func TestMistakesInAnAnalogueEntry(t *testing.T) {
	for want, spoil := range map[string]func(*profiles.SupplyEntry){
		"converters are missing": func(s *profiles.SupplyEntry) { s.Analog = nil },
		"exactly one of":         func(s *profiles.SupplyEntry) { s.Analog.FixedLimit = 2 },
		"more than 5 %":          func(s *profiles.SupplyEntry) { s.Analog.SetVoltage.Calibration.High.Metered = 140 },
		"must be named":          func(s *profiles.SupplyEntry) { s.Analog.Enable.Line = "17" },
	} {
		b := analogBench(t, "bench-analog.yaml")
		spoil(&b.Supply)
		err := Check(b)
		require.ErrorIs(t, err, ErrFile)
		require.ErrorContains(t, err, want)
	}
	require.NoError(t, Check(analogBench(t, "bench-analog.yaml")))
}

// TestCommission: the chips of this board power up at half scale until then.
func TestCommission(t *testing.T) { synctest.Test(t, commission) }

func commission(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	b, board := analogBench(t, "bench-analog.yaml"), newConverterBoard()
	board.powerUp = map[uint16]int{0x60: 2048, 0x61: 2048}
	set, _ := analogSet(board)
	done, err := set.commission(t.Context(), b)
	require.NoError(t, err)
	require.Equal(t, []string{"MCP4725 at 0x60", "MCP4725 at 0x61"}, done)
	require.Equal(t, map[uint16]int{0x60: 0, 0x61: 0}, board.powerUp)
	_, err = Commission(t.Context(), benchOf("tcp://127.0.0.1:1", "tcp://127.0.0.1:2"))
	require.ErrorIs(t, err, ErrFile)
}

func TestBusesAreNamedByTheirDeviceFiles(t *testing.T) {
	_, err := openI2C("/dev/i2c-bench")
	require.ErrorIs(t, err, ErrFile)
	_, err = openSPI("/dev/spidev0")
	require.ErrorIs(t, err, ErrFile)
	_, err = openI2C("/dev/i2c-99")
	require.ErrorIs(t, err, hal.ErrGone)
	_, err = openSPI("/dev/spidev99.9")
	require.ErrorIs(t, err, hal.ErrGone)
}

func TestThermometersOfAnAnalogueBench(t *testing.T) {
	set, _ := analogSet(newConverterBoard())
	set.buses.kernel1Wire = t.TempDir()
	chip := filepath.Join(set.buses.kernel1Wire, "28-000001318252")
	require.NoError(t, os.Mkdir(chip, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(chip, "features"), []byte("0"), 0o600))
	require.NoError(t, openOneWire(t.Context(), set, profiles.ThermometerEntry{Driver: "onewire", Through: "kernel", Device: "28-000001318252"}))
	features, err := os.ReadFile(filepath.Join(chip, "features"))
	require.NoError(t, err)
	require.Equal(t, "1", string(features), "the kernel looks for failed conversions, too")
	_, _, err = set.Thermometer.Temperature(t.Context())
	require.ErrorIs(t, err, hal.ErrNoReading)

	resistor := analogBench(t, "bench-analog.yaml").Temperature
	require.NoError(t, openResistor(t.Context(), set, *resistor))
	_, _, err = set.Thermometer.Temperature(t.Context())
	require.ErrorIs(t, err, hal.ErrNoReading)
	resistor.Wires = 7
	require.ErrorIs(t, openResistor(t.Context(), set, *resistor), ErrFile)
	require.NoError(t, set.Close())
}
