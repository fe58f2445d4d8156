package stand

import (
	"errors"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/physic"

	"anodized/hal/analog"
	"anodized/hal/analog/chip"
)

// The supply behind converters: two MCP4725 at 0x60 and 0x61 program it with 5 V for the
// full scale, an ADS1115 at 0x48 reads its monitors, 4 V for it, and a divider across the
// cell on its third channel. A code makes 25 mV, or 1 mA.
const (
	FullVolts, FullAmperes = 102.4, 4.096
	programPin, monitorPin = 5.0, 4.0
	span                   = 4.096 // V of the ADS1115
	programs, monitors     = 0x60, 0x48
	noAcknowledge          = "no acknowledge"
)

// String names the bus.
func (b *Board) String() string { return "board" }

// SetSpeed is for nothing here.
func (b *Board) SetSpeed(physic.Frequency) error { return nil }

// Tx is one transaction on the I2C bus.
func (b *Board) Tx(address uint16, w, r []byte) error {
	b.mu.Lock()
	stuck, spoilt := b.stuck, b.spoilt
	b.mu.Unlock()
	if stuck != nil {
		stuck()
	}
	if spoilt != nil {
		if err := spoilt(); err != nil {
			return err
		}
	}
	switch address {
	case programs, programs + 1:
		b.program(int(address-programs), w, r)
	case monitors:
		b.monitor(w, r)
	default:
		return errors.New(noAcknowledge)
	}
	return nil
}

// program is an MCP4725: three bytes write its register, five are read. Its power-up code
// is zero.
func (b *Board) program(n int, w, r []byte) {
	b.bench.Exchange(b.now(), func() {
		source := b.bench.Source()
		if len(w) == 3 {
			b.codes[n] = int(w[1])<<4 | int(w[2])>>4
			if n == 0 {
				source.SetVolts(float64(b.codes[n]) / 4096 * FullVolts)
			} else {
				source.SetAmperes(float64(b.codes[n]) / 4096 * FullAmperes)
			}
			b.held()
		}
		source.Heard()
	})
	if len(r) == 5 {
		copy(r, []byte{0xC0, byte(b.codes[n] >> 4), byte(b.codes[n] << 4), 0, 0})
	}
}

// held has a register hold what the supply took: a program input that is shorted to less.
func (b *Board) held() {
	held := b.bench.Source().Settings()
	b.codes[0] = min(b.codes[0], int(math.Round(held.Volts/FullVolts*4096)))
}

// Restart is a board that lost its power for a moment.
func (b *Board) Restart() {
	b.bench.Exchange(b.now(), func() {
		source := b.bench.Source()
		source.SwitchOutput(false)
		source.SetVolts(0)
		source.SetAmperes(0)
		b.codes = [2]int{}
	})
}

// monitor is an ADS1115, one conversion at a time.
func (b *Board) monitor(w, r []byte) {
	if len(w) == 3 {
		b.config = uint16(w[1])<<8 | uint16(w[2])
	}
	if len(r) != 2 {
		return
	}
	value := b.config
	if w[0] == 1 && b.restarts.Load() > 0 {
		b.restarts.Add(-1)
		value = 0x8583 // what it holds after power-up, by its data sheet
	}
	if w[0] == 0 {
		value = uint16(b.converted(int(b.config>>12) & 3))
	}
	r[0], r[1] = byte(value>>8), byte(value)
}

// converted is the code of a channel, whose input is a share of the full scale.
func (b *Board) converted(channel int) int16 {
	var volts, amperes, cell float64
	b.bench.Exchange(b.now(), func() {
		volts, amperes = b.bench.Source().Measure()
		cell = b.bench.MeterVolts()
	})
	share := [4]float64{volts / FullVolts, amperes / FullAmperes, cell / FullVolts}[channel]
	if reading := b.reading.Load(); reading != nil {
		return (*reading)(channel, share)
	}
	return code(share)
}

func code(share float64) int16 {
	if math.IsNaN(share) {
		return math.MaxInt16 // a pin that hangs in the air, at the rail
	}
	return int16(math.Round(min(max(share*monitorPin/span*(1<<15), math.MinInt16), math.MaxInt16)))
}

// Saturate has a channel of the monitors stand at the end of the converter's range.
func (b *Board) Saturate(channel int, at int16) {
	reading := func(asked int, share float64) int16 {
		if asked == channel {
			return at
		}
		return code(share)
	}
	b.reading.Store(&reading)
}

// Mute has no chip answer: no acknowledge. Nil ends it.
func (b *Board) Mute(while func() bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.spoilt = func() error {
		if while() {
			return errors.New(noAcknowledge)
		}
		return nil
	}
}

// Hold keeps every transaction waiting in a function: a bus that is held low.
func (b *Board) Hold(wait func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.stuck = wait
}

// Enable is the enable contact of the supply on a GPIO line.
type Enable struct{ lines *lines }

// Set closes or opens it.
func (e Enable) Set(closed bool) error { return e.lines.Set(1, map[bool]uint64{true: 1}[closed]) }

// Closed asks the line.
func (e Enable) Closed() (bool, error) {
	bits, err := e.lines.Values()
	return bits == 1, err
}

// Supply composes the supply of this board.
func (b *Board) Supply(lane *analog.Lane) (analog.Options, error) {
	monitor, err := chip.NewADS1115(b, monitors, span)
	if err != nil {
		return analog.Options{}, fmt.Errorf("the monitors: %w", err)
	}
	program := func(n uint16, full float64) analog.Program {
		return analog.Program{Lane: lane, Output: chip.NewMCP4725(b, programs+n, programPin), Scale: analog.Scale{Pin: programPin, Means: full, Gain: 1}}
	}
	reads := func(channel int, full float64) analog.Monitor {
		return analog.Monitor{Lane: lane, Input: monitor.Channel(channel), Scale: analog.Scale{Pin: monitorPin, Means: full, Gain: 1}}
	}
	amperes := program(1, FullAmperes)
	return analog.Options{Enable: Enable{&lines{board: b, names: []string{EnableLine}}}, Volts: program(0, FullVolts), Amperes: &amperes,
		VoltMonitor: reads(0, FullVolts), AmpereMonitor: reads(1, FullAmperes), HighestVolts: 102, HighestAmperes: 4, MainsReturn: "halted"}, nil
}

// Divider is the voltmeter across the cell, on the third channel.
func (b *Board) Divider(lane *analog.Lane) (analog.Monitor, error) {
	monitor, err := chip.NewADS1115(b, monitors, span)
	if err != nil {
		return analog.Monitor{}, fmt.Errorf("the divider: %w", err)
	}
	return analog.Monitor{Lane: lane, Input: monitor.Channel(2), Scale: analog.Scale{Pin: monitorPin, Means: FullVolts, Gain: 1}}, nil
}

// Held are the setpoints of the codes that the program inputs hold.
func (b *Board) Held() (volts, amperes float64) {
	b.bench.Exchange(b.now(), func() {
		volts, amperes = float64(b.codes[0])/4096*FullVolts, float64(b.codes[1])/4096*FullAmperes
	})
	return volts, amperes
}

// Late has the next transaction take so long.
func (b *Board) Late(takes time.Duration) {
	b.Hold(func() { b.Hold(nil); <-time.After(takes) })
}

// PowerUp has it hold that whenever it is asked.
func (b *Board) PowerUp() { b.restarts.Store(1 << 30) }

// PowerUpOnce has the monitors' converter hold, the next time that it is asked for its
// configuration, what it holds after power-up.
func (b *Board) PowerUpOnce() { b.restarts.Store(1) }
