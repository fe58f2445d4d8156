package profiles

import (
	"fmt"
	"time"

	"anodized/hal/unit"
)

// AnalogEntry is a supply that is programmed and watched by volts at its pins.
type AnalogEntry struct {
	Enable      EnableEntry     `json:"enable"`
	Settle      time.Duration   `json:"settle"`
	MainsReturn string          `json:"mains_return"` // halted, as_before, energised, unknown
	SetVoltage  ConverterEntry  `json:"set_voltage"`
	SetCurrent  *ConverterEntry `json:"set_current,omitempty"` // nil: the limit is fixed at the panel
	FixedLimit  unit.Amperes    `json:"fixed_current,omitempty"`
	ReadVoltage ConverterEntry  `json:"read_voltage"`
	ReadCurrent ConverterEntry  `json:"read_current"`
}

// EnableEntry is the GPIO line of the contact that lets the supply deliver.
type EnableEntry struct {
	Line   string `json:"line"`
	Chip   string `json:"chip,omitempty"`
	Closed string `json:"closed_level"` // high or low: what closes the contact; default high, so that a dead board opens it
}

// ConverterEntry is one channel of one converter chip, and what its volts mean.
type ConverterEntry struct {
	Chip        string     `json:"chip"`    // mcp4725, ad5693r, dac8562; ads1115, ina226, ina228
	Bus         string     `json:"bus"`     // /dev/i2c-1, /dev/spidev0.0
	Address     int        `json:"address"` // on I2C
	Channel     string     `json:"channel"` // dac8562: a, b; ads1115: 0 to 3; ina226, ina228: shunt, bus
	Span        unit.Volts `json:"span"`    // the volts at the end of the chip's range
	Pin         unit.Volts `json:"pin"`     // so many volts at the pin
	Means       float64    `json:"means"`   // mean so many V or A
	DeadBand    float64    `json:"dead_band,omitempty"`
	Calibration *Straight  `json:"calibration,omitempty"` // nil: the scale is nominal
}

// Device is the chip's place: two channels of one chip share it.
func (c ConverterEntry) Device() string { return fmt.Sprintf("%s@0x%02x", c.Bus, c.Address) }

// End is the value at the end of the chip's range, without calibration, in V or A.
func (c ConverterEntry) End() float64 { return float64(c.Span) / float64(c.Pin) * c.Means }

// Line is the calibration's line; without calibration it is nominal.
func (c ConverterEntry) Line() (gain, offset float64, err error) {
	if c.Calibration == nil {
		return 1, 0, nil
	}
	return c.Calibration.Line(c.Means)
}

// Converters are all channels that the supply has.
func (a AnalogEntry) Converters() []ConverterEntry {
	all := []ConverterEntry{a.SetVoltage, a.ReadVoltage, a.ReadCurrent}
	if a.SetCurrent != nil {
		all = append(all, *a.SetCurrent)
	}
	return all
}
