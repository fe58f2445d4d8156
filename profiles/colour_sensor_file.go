package profiles

import (
	"math"

	"anodized/hal/unit"
)

// ColourSensorEntry is the colour sensor of a bench: a spectral chip with its lamp.
type ColourSensorEntry struct {
	Driver string       `json:"driver"`
	Bus    string       `json:"bus"`     // /dev/i2c-1, with no converter of the supply on it
	Place  int          `json:"address"` // on the bus; this chip has one alone
	Lamp   unit.Amperes `json:"lamp_amperes"`
	Gain   int          `json:"gain"`
	White  float64      `json:"white"` // share of light that the white reference gives back
}

var colourSensorDrivers = []string{"as7341"}

// placeOfAS7341 is its only address on I2C.
const placeOfAS7341 = 0x39

func (r *report) colourSensor(n *node, c *ColourSensorEntry) {
	c.Place, c.Lamp, c.Gain, c.White = placeOfAS7341, 0.02, 64, 0.98
	r.fields(n, "a colour sensor", []field{
		need("driver", "as7341", driver(&c.Driver, colourSensorDrivers, "virtual")),
		need("bus", "/dev/i2c-1", busOf(&c.Bus, i2cBus, "/dev/i2c-1")),
		may("address", place(&c.Place, placeOfAS7341, placeOfAS7341)),
		may("lamp", lampCurrent(&c.Lamp)),
		may("gain", powerOfTwo(&c.Gain, 512)),
		may("white", func(r *report, n *node) {
			percent := 0.0
			number(&percent, "%", 50, 100)(r, n)
			c.White = percent / 100
		}),
	})
}

// lampCurrent reads what the chip's own driver gives a lamp: 4 to 258 mA by 2 mA.
func lampCurrent(to *unit.Amperes) reader {
	return func(r *report, n *node) {
		quantity(to, 0.004, 0.258)(r, n)
		if steps := float64(*to) * 500; math.Abs(steps-math.Round(steps)) > 1e-6 {
			r.say(n, "lamp: %s is no step of 2 mA", *to)
		}
	}
}

// powerOfTwo reads a gain.
func powerOfTwo(to *int, most int) reader {
	return func(r *report, n *node) {
		before := len(r.mistakes)
		if whole(to, 1, most)(r, n); len(r.mistakes) == before && *to&(*to-1) != 0 {
			r.say(n, "gain: %d is none of the chip's; 1, 2, 4, ... %d are", *to, most)
		}
	}
}

// sensorApart refuses a colour sensor on the bus of the supply's converters: a measurement
// takes a third of a second, and a chip that hangs holds its bus.
func (r *report) sensorApart(g given, b *Bench) {
	if !g.all("supply", "colour sensor") || b.Supply.Analog == nil {
		return
	}
	for _, own := range b.Supply.Analog.Converters() {
		if own.Bus == b.ColourSensor.Bus {
			r.say(g.good["colour sensor"].value("bus"), "bus: the %s of the supply is on %s; the colour sensor needs a bus of its own", own.Chip, own.Bus)
			return
		}
	}
}
