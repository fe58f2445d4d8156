package rtd

import (
	"context"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3"

	"anodized/hal"
	"anodized/hal/probe"
	"anodized/hal/unit"
)

// Options say what hangs on the converter.
type Options struct {
	Port      conn.Conn // SPI in mode 1 or 3, words of 8 bits
	Zero      float64   // ohms of the resistor at 0 °C: 100 or 1000
	Reference float64   // ohms of the reference resistor, such as 430
	Wires     int       // 2, 3 or 4
}

// Thermometer satisfies hal.Thermometer. Watch must run for it to have readings.
type Thermometer struct {
	*probe.Probe
	o         Options
	high, low uint16 // the thresholds
}

// The configuration register.
const (
	bias       = 0x80
	convert    = 0x20
	threeWires = 0x10
	searching  = 0x0C // both bits are 0 when the search for faults has ended
	search     = 0x04
	clearFault = 0x02
	filter50Hz = 0x01
	writing    = 0x80 // in the address
)

const (
	settling  = 20 * time.Millisecond // of the bias, with 100 nF across the resistor
	searched  = 2 * time.Millisecond
	converted = 80 * time.Millisecond // 62.5 ms, and the converter's tolerance
	coldest   = -50                   // °C
	hottest   = 150
	mostCode  = 1<<15 - 1
)

// New checks the options; it sends nothing.
func New(o Options) (*Thermometer, error) {
	switch {
	case o.Port == nil:
		return nil, fmt.Errorf("RTD converter: no port was given")
	case !(o.Zero > 0) || !(o.Reference > 0):
		return nil, fmt.Errorf("RTD converter: %v Ω at 0 °C, reference %v Ω: both must be above 0", o.Zero, o.Reference)
	case o.Wires < 2 || o.Wires > 4:
		return nil, fmt.Errorf("RTD converter: %d wires: 2, 3 or 4 are possible", o.Wires)
	case ohms(hottest, o.Zero) >= o.Reference:
		return nil, fmt.Errorf("RTD converter: a reference of %v Ω cannot show %d °C of a resistor with %v Ω at 0 °C", o.Reference, hottest, o.Zero)
	}
	t := &Thermometer{o: o}
	t.high, t.low = t.register(hottest), t.register(coldest)
	t.Probe = probe.New(t.read)
	return t, nil
}

// register is a temperature as the converter writes it: the code, and bit 0 free.
func (t *Thermometer) register(celsius float64) uint16 {
	return uint16(ohms(celsius, t.o.Zero)/t.o.Reference*(1<<15)) << 1
}

func (t *Thermometer) config(bits byte) byte {
	if t.o.Wires == 3 {
		bits |= threeWires
	}
	return bits | filter50Hz
}

// read runs the whole sequence, a tenth of a second, and always ends with bias off.
func (t *Thermometer) read(ctx context.Context) (unit.Celsius, error) {
	value, err := t.sequence(ctx)
	if off := t.write(0, t.config(0)); err == nil && off != nil {
		err = off
	}
	if err != nil {
		return 0, fmt.Errorf("RTD converter: %w", err)
	}
	return value, nil
}

func (t *Thermometer) sequence(ctx context.Context) (unit.Celsius, error) {
	thresholds := []byte{byte(t.high >> 8), byte(t.high), byte(t.low >> 8), byte(t.low)}
	for _, step := range []struct {
		register byte
		bytes    []byte
		wait     time.Duration
	}{
		{3, thresholds, 0},
		{0, []byte{t.config(bias | clearFault)}, settling},
		{0, []byte{t.config(bias | search)}, searched},
	} {
		if err := t.write(step.register, step.bytes...); err != nil {
			return 0, err
		}
		if err := pause(ctx, step.wait); err != nil {
			return 0, err
		}
	}
	if err := t.searchEnded(); err != nil {
		return 0, err
	}
	if err := t.write(0, t.config(bias|convert)); err != nil {
		return 0, err
	}
	if err := pause(ctx, converted); err != nil {
		return 0, err
	}
	registers, err := t.registers()
	if err != nil {
		return 0, err
	}
	return t.decode(registers)
}

// searchEnded looks before the conversion: a search that goes on would disturb it.
func (t *Thermometer) searchEnded() error {
	registers, err := t.registers()
	if err == nil && registers[0]&searching != 0 {
		err = fmt.Errorf("%w: its search for faults does not end", hal.ErrNoReading)
	}
	return err
}

// decode judges the eight registers and turns the ratio into °C.
func (t *Thermometer) decode(r [8]byte) (unit.Celsius, error) {
	code := (uint16(r[1])<<8 | uint16(r[2])) >> 1
	held := [2]uint16{uint16(r[3])<<8 | uint16(r[4]), uint16(r[5])<<8 | uint16(r[6])}
	switch {
	case r[0] != t.config(bias) || held != [2]uint16{t.high, t.low}:
		return 0, reject(r, "it does not hold what was written: it restarted, or it is not there")
	case r[7] != 0 || r[2]&1 != 0:
		return 0, reject(r, faultWords(r[7]))
	case code == 0 || code == mostCode:
		return 0, reject(r, "a ratio at the end of the range: a lead is open or shorted")
	}
	value := Celsius(float64(code)*t.o.Reference/(1<<15), t.o.Zero)
	if !(value >= coldest && value <= hottest) || math.IsNaN(float64(value)) {
		return 0, reject(r, fmt.Sprintf("%.4g °C is outside %d to %d °C", float64(value), coldest, hottest))
	}
	return value, nil
}

func reject(r [8]byte, why string) error {
	return fmt.Errorf("registers % X: %w: %s", r[:], hal.ErrNoReading, why)
}
