package plan

import (
	"errors"
	"fmt"
	"math"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
)

// ErrNotReachable is wrapped where no film of the metal comes near the wanted
// colour within the volts that there are.
var ErrNotReachable = errors.New("colour not reachable")

const (
	// grainsInAVolt is the grain of a target that was computed: 0.02 nm of film.
	grainsInAVolt = 100
	// highestColour is where the search ends if the supply is not known: the
	// range of titanium colours, common practice, no source.
	highestColour unit.Volts = 110
	leastColour   unit.Volts = 1
	chartStep     unit.Volts = 0.1
	twinStep      unit.Volts = 0.25 // of the search for look-alikes, refined between rows: their dips are volts wide
	// nearColour is a colour difference that is accepted in matching; farColour is
	// another colour to every eye. Common practice, no source, and our choice.
	nearColour = 2
	farColour  = 10
	candidates = 8
)

// target is the wish as volts, and the end that the film is reckoned for.
type target struct {
	volts    unit.Volts
	end      unit.CurrentDensity
	warnings []Warning
}

// target finds the volts of the wish. A timed hold ends at a density that hangs on
// the volts, which hang on the density: some rounds settle it to far below a grain.
func (d *draft) target() (target, error) {
	end := d.Profile.End
	if !(end.Time > 0) {
		return d.aim(end.CurrentDensity)
	}
	found := target{end: d.Calibration.EndCurrentDensity}
	for range 6 {
		next, err := d.aim(found.end)
		if err != nil {
			return target{}, err
		}
		next.end, err = d.densityAfter(next.volts, end.Time)
		if err != nil {
			return target{}, err
		}
		found = next
	}
	return found, nil
}

// densityAfter returns the current density at the end of a timed hold.
func (d *draft) densityAfter(volts unit.Volts, time unit.Seconds) (unit.CurrentDensity, error) {
	out, err := film.Run(film.Load{
		Law: d.law, Area: d.area.Total, Series: d.series, Native: d.nativeFilm(),
		Target: volts, Rate: d.Profile.Ramp, Limit: d.limit, End: film.End{Time: time},
	})
	if err != nil {
		return 0, fmt.Errorf("plan %q: the end of the timed hold: %w", d.Profile.Name, err)
	}
	return out.EndDensity, nil
}

// aim returns the volts of the wish for an end at a current density.
func (d *draft) aim(end unit.CurrentDensity) (target, error) {
	wish, scale := d.Profile.Target, d.scale(end)
	found := target{end: end}
	var err error
	switch {
	case wish.Volts != 0:
		found.volts = wish.Volts
	case wish.Thickness != 0:
		found.volts = grain(scale.Volts(wish.Thickness))
	case wish.Hex != "":
		err = d.aimAtScreen(&found, scale)
	case wish.Lab != nil:
		err = d.aimAtColour(&found, scale, colour.Lab{L: wish.Lab[0], A: wish.Lab[1], B: wish.Lab[2]}, fmt.Sprintf("Lab %.4g, %.4g, %.4g", wish.Lab[0], wish.Lab[1], wish.Lab[2]))
	default:
		err = fmt.Errorf("the profile has no target: give volts, a colour, Lab or a thickness")
	}
	if err == nil && (!(found.volts > 0) || math.IsInf(float64(found.volts), 0)) {
		err = fmt.Errorf("the target comes to %s: it must be above 0 V; a thinner film than the metal's own cannot be made", show(found.volts))
	}
	if err != nil {
		return target{}, fmt.Errorf("plan %q: %w", d.Profile.Name, err)
	}
	return found, nil
}

func grain(v unit.Volts) unit.Volts {
	return unit.Volts(math.Round(float64(v)*grainsInAVolt) / grainsInAVolt) // a quotient, which is the nearest to its decimals
}

func (d *draft) aimAtScreen(found *target, scale colour.Scale) error {
	screen, err := colour.ParseHex(d.Profile.Target.Hex)
	if err != nil {
		return err
	}
	return d.aimAtColour(found, scale, d.Surface.FromScreen(screen), d.Profile.Target.Hex)
}

// aimAtColour takes the nearest colour that the film can make above what the parts
// carry and within what the supply has.
func (d *draft) aimAtColour(found *target, scale colour.Scale, want colour.Lab, called string) error {
	low, high := max(leastColour, d.Rack.FormedTo), highestColour
	if d.Supply.HighestVolts > 0 {
		high = d.Supply.HighestVolts
		if d.Profile.Ceiling == 0 {
			high = below(high)
		}
	}
	if low >= high {
		return fmt.Errorf("%w: no volts are left between the %v that the parts were formed to and the highest, %v: strip the parts, or use another supply", ErrNotReachable, low, high)
	}
	chart, err := d.Surface.Chart(scale, low, high, chartStep)
	if err != nil {
		return err
	}
	best := chart.Best(want, candidates)
	if len(best) == 0 {
		return fmt.Errorf("%w: %s is no colour that can be compared", ErrNotReachable, called)
	}
	nearest := best[0]
	found.volts = min(grain(nearest.Volts), high)
	switch {
	case nearest.DE00 > farColour:
		return fmt.Errorf("%w: the nearest to %s from %v to %v is %s at %s, dE00 %.1f, another colour to every eye: choose one from the chart (colour --chart)", ErrNotReachable, called, low, high, nearest.Screen.Hex(), show(nearest.Volts), nearest.DE00)
	case nearest.DE00 > nearColour:
		found.warnings = append(found.warnings, warn(ColourNotReachable, "%s cannot be reached: the nearest is %s at %s, dE00 %.1f; look at it before a whole load", called, nearest.Screen.Hex(), show(found.volts), nearest.DE00))
	}
	return nil
}
