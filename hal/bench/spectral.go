package bench

import (
	"context"
	"math"

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
