package bench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math"

	"anodized/hal"
	"anodized/hal/spectral"
	"anodized/profiles"
)

// openSpectral opens a colour sensor on a bus of its own and asks it who it is. One that
// is not there says so at each reading.
func openSpectral(ctx context.Context, set *Set, entry profiles.ColourSensorEntry) error {
	bus, err := set.newWires().i2cBus(entry.Bus)
	if err != nil {
		return err
	}
	sensor, err := spectral.New(spectral.Options{Bus: bus, Milliamps: int(math.Round(1000 * float64(entry.Lamp))), Gain: entry.Gain, White: entry.White})
	if err != nil {
		return err
	}
	if err := sensor.Present(ctx); err != nil { // it advises: a bench without it does its loads
		set.log.Warn("the colour sensor does not answer", "err", err)
	}
	set.ColourSensor = sensor
	return nil
}

// OpenColourSensor opens the colour sensor of a bench alone: the supply is asked nothing,
// and a load may run meanwhile. The caller closes it.
func OpenColourSensor(ctx context.Context, entry profiles.ColourSensorEntry, log *slog.Logger) (hal.ColourSensor, io.Closer, error) {
	if err := known(colourSensors, "colour sensor", entry.Driver); err != nil {
		return nil, nil, err
	}
	s := &Set{log: log, buses: kernelBuses()}
	if err := colourSensors[entry.Driver](ctx, s, entry); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("colour sensor on %s: %w", entry.Bus, err), s.Close())
	}
	return s.ColourSensor, s, nil
}
