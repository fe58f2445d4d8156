package choose

import (
	"fmt"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Request is what an eye looks at, and how.
type Request struct {
	Film, Substrate profiles.Table
	Observer        profiles.ColourMatching
	Light           profiles.Light // that the wanted colour is meant under
	Options         colour.Options // angle and index; Daylight is needed
	Scale           colour.Scale
	Lamps           []profiles.Light // to look under besides
	Tilts           []float64        // degrees to tilt to besides; those not above the first angle are left out
	Highest         unit.Volts       // of the range, which begins at 0 V
}

// step is that of the chart.
const step unit.Volts = 0.1

// rowsInVolt is how many rows of the chart a volt is.
const rowsInVolt = 10

// Eye is a film on a metal seen in all the ways that a choice asks about. It does not
// change and may be shared.
type Eye struct {
	surface *colour.Surface
	scale   colour.Scale
	chart   *colour.Chart
	lamps   []way
	tilts   []way
}

// way is one way of looking.
type way struct {
	illuminant string
	angle      float64
	surface    *colour.Surface
}

// New works out all surfaces. Its errors are those of [colour.NewSurface] and
// [colour.Surface.Chart].
func New(r Request) (*Eye, error) {
	first, err := r.look(r.Light, r.Options.AngleDegrees)
	if err != nil {
		return nil, err
	}
	e := &Eye{surface: first.surface, scale: r.Scale}
	if e.chart, err = first.surface.Chart(r.Scale, 0, r.Highest, step); err != nil {
		return nil, err
	}
	for _, lamp := range r.Lamps {
		if err := add(&e.lamps, r, lamp, r.Options.AngleDegrees); err != nil {
			return nil, err
		}
	}
	for _, angle := range r.Tilts {
		if angle <= r.Options.AngleDegrees {
			continue
		}
		if err := add(&e.tilts, r, r.Light, angle); err != nil {
			return nil, err
		}
	}
	return e, nil
}

func add(ways *[]way, r Request, light profiles.Light, angle float64) error {
	seen, err := r.look(light, angle)
	*ways = append(*ways, seen)
	return err
}

func (r Request) look(light profiles.Light, angle float64) (way, error) {
	options := r.Options
	options.AngleDegrees = angle
	surface, err := colour.NewSurface(r.Film, r.Substrate, r.Observer, light, options)
	if err != nil {
		return way{}, fmt.Errorf("look under %s at %g degrees: %w", light.ID, angle, err)
	}
	return way{light.ID, angle, surface}, nil
}

// Surface returns the first way of looking, and Chart its colours by the volt.
func (e *Eye) Surface() *colour.Surface { return e.surface }

// Chart returns the colours of the first way, by 0.1 V.
func (e *Eye) Chart() *colour.Chart { return e.chart }
