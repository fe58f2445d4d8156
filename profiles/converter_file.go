package profiles

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"anodized/hal/unit"
)

var (
	outputChips = []string{"mcp4725", "ad5693r", "dac8562"}
	inputChips  = []string{"ads1115", "ina226", "ina228"}
	i2cBus      = regexp.MustCompile(`^/dev/i2c-(0|[1-9][0-9]{0,2})$`)
	spiBus      = regexp.MustCompile(`^/dev/spidev(0|[1-9][0-9]{0,2})\.(0|[1-9][0-9]?)$`)
)

// output reads a converter that programs the supply.
func (r *report) output(n *node, symbol string, c *ConverterEntry) {
	chip := need("chip", "mcp4725", outputChip(&c.Chip))
	table := []field{
		chip,
		may("dead band", number(&c.DeadBand, symbol, 0, 30)),
	}
	switch n.word("chip") {
	case "ad5693r":
		c.Span = 2.5
		table = append(table, i2cFields(c, 0x4C, 0x4F)...)
		table = append(table, may("span", spanOf(&c.Span, 2.5, 5)))
	case "dac8562", "dac8563":
		c.Span = 5
		table = append(table,
			need("bus", "/dev/spidev0.0", busOf(&c.Bus, spiBus, "/dev/spidev0.0")),
			need("channel", "a", choice(&c.Channel, "a", "b")))
	default:
		table = append(table, i2cFields(c, 0x60, 0x67)...)
		table = append(table, need("reference", "5 V", quantity(&c.Span, 2.7, 5.5)))
	}
	r.converter(n, symbol, c, table)
}

// outputChip refuses a chip that would program half the voltage at power-up.
func outputChip(to *string) reader {
	known := choice(to, outputChips...)
	return func(r *report, n *node) {
		if n.kind == scalar && n.text == "dac8563" {
			r.say(n, "chip: the dac8563 powers up at half scale: half the voltage before any software runs; the dac8562 powers up at zero")
			return
		}
		known(r, n)
	}
}

// input reads a converter that watches the supply.
func (r *report) input(n *node, symbol string, c *ConverterEntry) {
	table := []field{need("chip", "ads1115", choice(&c.Chip, inputChips...))}
	switch n.word("chip") {
	case "ina226":
		table = append(table, i2cFields(c, 0x40, 0x4F)...)
		table = append(table, need("channel", "shunt", monitorPin(c, 0.08192, 36)))
	case "ina228":
		c.Span = 0.16384
		table = append(table, i2cFields(c, 0x40, 0x4F)...)
		table = append(table,
			may("range", spanOf(&c.Span, 0.16384, 0.04096)),
			need("channel", "shunt", monitorPin(c, 0, 85)))
	default:
		c.Span = 4.096
		table = append(table, i2cFields(c, 0x48, 0x4B)...)
		table = append(table,
			need("channel", "0", choice(&c.Channel, "0", "1", "2", "3")),
			may("range", spanOf(&c.Span, 6.144, 4.096, 2.048, 1.024, 0.512, 0.256)))
	}
	r.converter(n, symbol, c, table)
	if c.Channel == "bus" && c.Chip == "ina228" {
		c.Span = 85 // whatever the range of the shunt
	}
}

// monitorPin reads shunt or bus, whose ranges end at different volts; 0 leaves the
// range of the shunt to its own key.
func monitorPin(c *ConverterEntry, shunt, bus unit.Volts) reader {
	word := choice(&c.Channel, "shunt", "bus")
	return func(r *report, n *node) {
		word(r, n)
		switch {
		case c.Channel == "bus":
			c.Span = bus
		case shunt > 0:
			c.Span = shunt
		}
	}
}

func (r *report) converter(n *node, symbol string, c *ConverterEntry, table []field) {
	var calibration *node
	g := r.fields(n, "a converter", append(table,
		need("scale", "{pin: 5 V, means: 120 "+symbol+"}", func(r *report, n *node) { r.scale(n, symbol, c) }),
		may("calibration", func(_ *report, n *node) { calibration = n }),
	))
	if calibration != nil {
		if !g.all("scale") {
			c.Means = 0 // the line cannot be judged
		}
		r.straight(calibration, symbol, c)
	}
}

func i2cFields(c *ConverterEntry, least, most int) []field {
	return []field{
		need("bus", "/dev/i2c-1", busOf(&c.Bus, i2cBus, "/dev/i2c-1")),
		need("address", fmt.Sprintf("0x%02x", least), place(&c.Address, least, most)),
	}
}

func busOf(to *string, form *regexp.Regexp, example string) reader {
	return valued(func(s string) error {
		if !form.MatchString(s) {
			return fmt.Errorf("%q is not the bus of this chip; a device file such as %q is needed", brief(s), example)
		}
		*to = s
		return nil
	})
}

// place reads an address on I2C, written as the sheets do: 0x60.
func place(to *int, least, most int) reader {
	return valued(func(s string) error {
		value, err := strconv.ParseUint(s, 0, 8)
		if err != nil || len(s) < 3 || s[:2] != "0x" {
			return fmt.Errorf("%q is not an address; 0x%02x to 0x%02x are possible", brief(s), least, most)
		}
		if int(value) < least || int(value) > most {
			return fmt.Errorf("%q is not an address of this chip; 0x%02x to 0x%02x are possible", brief(s), least, most)
		}
		*to = int(value)
		return nil
	})
}

// day reads a date.
func day(to *string) reader {
	return valued(func(s string) error {
		if _, err := time.Parse(time.DateOnly, s); err != nil {
			return fmt.Errorf("%q is not a date; year-month-day is needed, such as 2026-03-02", brief(s))
		}
		*to = s
		return nil
	})
}
