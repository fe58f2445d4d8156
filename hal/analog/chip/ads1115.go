package chip

import (
	"context"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/unit"
)

// ADS1115 is a converter of four channels and 16 bits on I2C, at addresses 0x48 to
// 0x4B. It is used one conversion at a time, 128 a second, each channel to ground.
type ADS1115 struct {
	registers
	gain uint16
	span unit.Volts
}

// The ranges of the chip. No pin may be above its supply voltage, whatever the range.
var ads1115Spans = []unit.Volts{6.144, 4.096, 2.048, 1.024, 0.512, 0.256}

const (
	ads1115Conversion = 0
	ads1115Config     = 1
	ads1115Finished   = 0x8000 // written, it starts a conversion; read, none is under way
	ads1115Fixed      = 0x4183 // a channel to ground, once, 128 a second, no comparator
	ads1115Period     = time.Second / 128
	ads1115Earliest   = ads1115Period * 9 / 10 // the oscillator is 10 % fast at most
	ads1115Longest    = 3 * ads1115Period
)

// NewADS1115 takes the chip at an address with one of its spans, 4.096 V where the
// inputs stay below 4 V.
func NewADS1115(bus i2c.Bus, address uint16, span unit.Volts) (*ADS1115, error) {
	for gain, s := range ads1115Spans {
		if math.Abs(float64(s-span)) < 1e-6 {
			return &ADS1115{newRegisters("ADS1115", bus, address), uint16(gain), s}, nil
		}
	}
	return nil, fmt.Errorf("ADS1115 at 0x%02x: %v V is not a range of it: %v V are", address, float64(span), ads1115Spans)
}

// Channel is AIN0 to AIN3, each against ground.
func (a *ADS1115) Channel(channel int) Input { return &ads1115Channel{a, channel & 3} }

type ads1115Channel struct {
	chip    *ADS1115
	channel int
}

func (c *ads1115Channel) String() string { return fmt.Sprintf("%s AIN%d", c.chip, c.channel) }

// Start converts once: the chip has no number of its own to be known by.
func (c *ads1115Channel) Start(ctx context.Context) error {
	_, err := c.code(ctx)
	return err
}

func (c *ads1115Channel) config() uint16 {
	return ads1115Finished | ads1115Fixed | uint16(c.channel)<<12 | c.chip.gain<<9
}

// Read starts a conversion, waits until the chip says that it is finished and that
// its configuration is ours, and reads the result.
func (c *ads1115Channel) Read(ctx context.Context) (unit.Volts, error) {
	code, err := c.code(ctx)
	if err != nil {
		return 0, err
	}
	if code == math.MaxInt16 || code == math.MinInt16 {
		return 0, fmt.Errorf("%s: %w of %v V", c, ErrSaturated, float64(c.chip.span))
	}
	return c.chip.span * unit.Volts(code) / (1 << 15), nil
}

func (c *ads1115Channel) code(ctx context.Context) (int16, error) {
	if err := c.chip.write(ads1115Config, c.config()); err != nil {
		return 0, err
	}
	if err := pause(ctx, ads1115Earliest); err != nil {
		return 0, fmt.Errorf("%s: convert: cut off: %w", c, err)
	}
	if err := until(ctx, c, "convert", ads1115Longest, c.finished); err != nil {
		return 0, err
	}
	code, err := c.chip.read(ads1115Conversion)
	return int16(code), err
}

func (c *ads1115Channel) finished() (bool, error) {
	config, err := c.chip.read(ads1115Config)
	if err != nil {
		return false, err
	}
	if config|ads1115Finished != c.config() {
		return false, fmt.Errorf("%s: %w: it holds the configuration %04X, not %04X: it restarted, or it is another chip", c, hal.ErrNoReading, config, c.config())
	}
	return config&ads1115Finished != 0, nil
}
