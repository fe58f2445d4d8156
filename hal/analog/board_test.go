package analog

import (
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c/i2ctest"

	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

// board is an I2C bus with two MCP4725 (0x60 volts, 0x61 amperes) and an ADS1115,
// a supply of 102.4 V and 4.096 A behind them, and a load. 5 V program the full scale;
// 4 V of the monitors mean it.
type board struct {
	i2ctest.Record // for the methods that nobody calls

	mu      sync.Mutex
	codes   [2]int
	powerUp [2]int
	config  uint16
	ohms    float64
	enabled bool
	writes  int

	stuckOn, dead, garbage, wild bool
	ceiling                      int           // of codes, silently; 0: none
	late                         time.Duration // of the next exchange
	silent                       chan struct{} // not nil: exchanges hang until it is closed
}

// A code makes 25 mV or 1 mA, so that the values of the suite are whole codes.
const fullVolts, fullAmperes, reference, monitorPin = 102.4, 4.096, 5.0, 4.0

func (b *board) String() string { return "board" }

func (b *board) Tx(address uint16, w, r []byte) error {
	b.hold()
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case b.dead:
		return errors.New("no acknowledge")
	case address == 0x48:
		b.ads(w, r)
	default:
		b.mcp(int(address-0x60), w, r)
	}
	return nil
}

func (b *board) hold() {
	b.mu.Lock()
	silent, late := b.silent, b.late
	b.late = 0
	b.mu.Unlock()
	if silent != nil {
		<-silent
	}
	if late > 0 {
		<-time.After(late)
	}
}

func (b *board) mcp(n int, w, r []byte) {
	if len(w) == 3 {
		b.writes++
		b.codes[n] = int(w[1])<<4 | int(w[2])>>4
		if b.ceiling > 0 {
			b.codes[n] = min(b.codes[n], b.ceiling)
		}
	}
	if len(r) == 5 {
		copy(r, []byte{0xC0, byte(b.codes[n] >> 4), byte(b.codes[n] << 4), byte(b.powerUp[n] >> 8), byte(b.powerUp[n])})
	}
}

func (b *board) ads(w, r []byte) {
	if len(w) == 3 {
		b.config = uint16(w[1])<<8 | uint16(w[2])
	}
	value := b.config
	if len(r) == 2 && w[0] == 0 {
		value = b.converted()
	}
	if len(r) == 2 && w[0] == 1 && b.garbage {
		b.garbage, value = false, 0x8583
	}
	if len(r) == 2 {
		r[0], r[1] = byte(value>>8), byte(value)
	}
}

// converted is the code of the channel that was asked for.
func (b *board) converted() uint16 {
	volts, amperes := b.truth()
	share := volts / fullVolts
	if b.config>>12&3 == 1 {
		share = amperes / fullAmperes
	}
	if b.wild {
		share = 2
	}
	return uint16(min(share*monitorPin/4.096*32768, 32767))
}

// truth is what the load gets.
func (b *board) truth() (volts, amperes float64) {
	if !b.enabled {
		return 0, 0
	}
	volts = float64(b.codes[0]) / 4096 * fullVolts
	limit := float64(b.codes[1]) / 4096 * fullAmperes
	if b.ohms == 0 {
		return volts, 0
	}
	if amperes = volts / b.ohms; amperes > limit {
		return limit * b.ohms, limit
	}
	return volts, amperes
}

func (b *board) do(change func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	change()
}

// Set and Closed make the board the enable contact, too.
func (b *board) Set(closed bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.dead {
		return errors.New("no such line")
	}
	b.enabled = closed || b.enabled && b.stuckOn
	return nil
}

func (b *board) Closed() (bool, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.dead {
		return false, errors.New("no such line")
	}
	return b.enabled, nil
}

// options composes the supply of this board.
func (b *board) options(t *testing.T, lane *Lane) Options {
	t.Helper()
	adc, err := chip.NewADS1115(b, 0x48, 4.096)
	require.NoError(t, err)
	program := func(n int, full float64) Program {
		return Program{Lane: lane, Output: chip.NewMCP4725(b, 0x60+uint16(n), reference), Scale: Scale{Pin: reference, Means: full, Gain: 1}}
	}
	monitor := func(n int, full float64) Monitor {
		return Monitor{Lane: lane, Input: adc.Channel(n), Scale: Scale{Pin: monitorPin, Means: full, Gain: 1}}
	}
	amperes := program(1, fullAmperes)
	return Options{
		Enable: b, Volts: program(0, fullVolts), Amperes: &amperes,
		VoltMonitor: monitor(0, fullVolts), AmpereMonitor: monitor(1, fullAmperes),
		HighestVolts: 102, HighestAmperes: 4,
		Settle: 150 * time.Millisecond, MainsReturn: "halted",
	}
}

// open opens a supply on a board in the test's bubble.
func open(t *testing.T, b *board, change func(*Options)) *Supply {
	t.Helper()
	lane := NewLane("board")
	t.Cleanup(func() { require.NoError(t, lane.Close()) })
	o := b.options(t, lane)
	if change != nil {
		change(&o)
	}
	s, err := Open(t.Context(), o)
	require.NoError(t, err)
	return s
}

// set gives both limits.
func set(t *testing.T, s *Supply, volts unit.Volts, amperes unit.Amperes) {
	t.Helper()
	_, err := s.SetVoltage(t.Context(), volts)
	require.NoError(t, err)
	_, err = s.SetCurrent(t.Context(), amperes)
	require.NoError(t, err)
}
