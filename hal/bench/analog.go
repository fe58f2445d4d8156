package bench

import (
	"context"
	"fmt"

	"anodized/hal/analog"
	"anodized/hal/gpio"
	"anodized/profiles"
)

// checkAnalog looks at an entry that the loader may not have seen.
func checkAnalog(s profiles.SupplyEntry) error {
	a := s.Analog
	if a == nil {
		return fmt.Errorf("%w: its converters are missing", ErrFile)
	}
	if (a.SetCurrent == nil) == (a.FixedLimit == 0) {
		return fmt.Errorf("%w: exactly one of set current and fixed current is needed", ErrFile)
	}
	for _, c := range a.Converters() {
		if _, _, err := c.Line(); err != nil {
			return fmt.Errorf("%w: the calibration of the %s: %w", ErrFile, c.Chip, err)
		}
	}
	return checkLines("supply: enable", a.Enable.Chip, nil, a.Enable.Line)
}

// openAnalog opens the enable line, with the contact open, before any converter.
func openAnalog(ctx context.Context, set *Set, entry profiles.SupplyEntry) error {
	a := entry.Analog
	lines, err := set.request(a.Enable.Chip, gpio.EnableRequest(a.Enable.Line, a.Enable.Closed == "low"))
	if err != nil {
		return err
	}
	o := analog.Options{
		Enable: gpio.NewEnable(lines), FixedAmperes: a.FixedLimit,
		HighestVolts: entry.HighestVoltage, HighestAmperes: entry.HighestCurrent,
		Settle: a.Settle, MainsReturn: a.MainsReturn, Log: set.log,
	}
	if err := set.wire(&o, a); err != nil {
		return err
	}
	supply, err := analog.Open(ctx, o)
	if err != nil {
		return err
	}
	set.Supply = supply
	return nil
}

// wire composes the converters.
func (s *Set) wire(o *analog.Options, a *profiles.AnalogEntry) (err error) {
	w := s.newWires()
	if o.Volts, err = w.program("set voltage", a.SetVoltage); err != nil {
		return err
	}
	if a.SetCurrent != nil {
		amperes, err := w.program("set current", *a.SetCurrent)
		if err != nil {
			return err
		}
		o.Amperes = &amperes
	}
	if o.VoltMonitor, err = w.monitor("read voltage", a.ReadVoltage); err != nil {
		return err
	}
	o.AmpereMonitor, err = w.monitor("read current", a.ReadCurrent)
	return err
}

func (w *wires) program(key string, c profiles.ConverterEntry) (analog.Program, error) {
	output, err := w.output(c)
	if err != nil {
		return analog.Program{}, fmt.Errorf("%s: %w", key, err)
	}
	scale, err := w.scale(key, c)
	return analog.Program{Lane: w.lane(c.Bus), Output: output, Scale: scale, DeadBand: c.DeadBand}, err
}

func (w *wires) monitor(key string, c profiles.ConverterEntry) (analog.Monitor, error) {
	input, err := w.input(c)
	if err != nil {
		return analog.Monitor{}, fmt.Errorf("%s: %w", key, err)
	}
	scale, err := w.scale(key, c)
	return analog.Monitor{Lane: w.lane(c.Bus), Input: input, Scale: scale}, err
}

// scale says in the log which calibration is in force.
func (w *wires) scale(key string, c profiles.ConverterEntry) (analog.Scale, error) {
	gain, offset, err := c.Line()
	if err != nil {
		return analog.Scale{}, fmt.Errorf("%w: %s: calibration: %w", ErrFile, key, err)
	}
	if c.Calibration == nil {
		w.set.log.Warn("a scale has no calibration: it is believed as it is written", "entry", key)
	} else {
		w.set.log.Info("a scale is calibrated", "entry", key, "date", c.Calibration.Date, "meter", c.Calibration.Meter, "gain", gain, "offset", offset)
	}
	return analog.Scale{Pin: c.Pin, Means: c.Means, Gain: gain, Offset: offset}, nil
}
