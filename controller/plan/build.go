package plan

import (
	"errors"
	"fmt"
	"math"

	"anodized/controller/film"
	"anodized/controller/rack"
	"anodized/hal/unit"
)

// ErrBeyondSupply is wrapped where a plan asks for more volts than the supply has.
var ErrBeyondSupply = errors.New("beyond the supply")

// draft is a plan while its numbers are found.
type draft struct {
	Request
	area   rack.Result
	law    film.Law        // calibrated
	series unit.Ohms       // for this rack
	film   unit.Nanometres // on the parts at the start
	limit  unit.Amperes
	ended  unit.CurrentDensity // at the end of the run as forecast
	plan   Plan
}

// Build turns a request into a plan: every number of the run, what to expect, and
// what a person should know before starting. The same request always gives the
// same plan and the same id.
func Build(r Request) (Plan, error) {
	d, err := newDraft(r)
	if err != nil {
		return Plan{}, err
	}
	target, err := d.target()
	if err != nil {
		return Plan{}, err
	}
	if err := d.checkTarget(target.volts); err != nil {
		return Plan{}, err
	}
	if err := d.fill(target); err != nil {
		return Plan{}, err
	}
	if err := d.checkLeast(); err != nil {
		return Plan{}, err
	}
	d.plan.Warnings = append(d.plan.Warnings, d.warnings()...)
	d.plan.ID, err = identify(d.plan)
	return d.plan, err
}

func newDraft(r Request) (*draft, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	area, err := rack.Area(r.Rack, r.Metal.Density)
	if err != nil {
		return nil, fmt.Errorf("plan %q: %w", r.Profile.Name, err)
	}
	d := &draft{Request: r, area: area}
	warmth, _ := d.warmth()
	d.law = film.OfBath(r.Metal.Growth, r.Calibration)
	d.law.B *= warmth
	d.series = unit.Ohms(float64(r.Bath.Series) * seriesArea / float64(area.Total))
	d.limit = r.Profile.CurrentDensity.At(area.Total)
	if highest := r.Supply.HighestAmperes; highest > 0 {
		d.limit = min(d.limit, highest)
	}
	return d, nil
}

// seriesArea is the wetted area, in cm², that a bath's series resistance is given
// for. Bath resistance goes about as one over the area of what hangs in it.
const seriesArea = 200

func (d *draft) checkTarget(volts unit.Volts) error {
	name, ceiling, highest := d.Profile.Name, d.Profile.Ceiling, d.Supply.HighestVolts
	switch {
	case highest > 0 && volts > highest:
		return fmt.Errorf("plan %q: %w: the target %s is above the %v of this supply: choose a colour below, or another supply", name, ErrBeyondSupply, show(volts), highest)
	case highest > 0 && ceiling > highest:
		return fmt.Errorf("plan %q: %w: the ceiling %v is above the %v of this supply: lower it, or leave it out for %s", name, ErrBeyondSupply, ceiling, highest, show(ceilingOver(volts)))
	case highest > 0 && ceiling == 0 && ceilingOver(volts) > highest:
		return fmt.Errorf("plan %q: %w: the target %s needs a ceiling of %s, above the %v of this supply: go to %s at most, or take another supply", name, ErrBeyondSupply, show(volts), show(ceilingOver(volts)), highest, show(below(highest)))
	case volts < d.Rack.FormedTo:
		return fmt.Errorf("plan %q: the target %s is below the %v that the parts were formed to: a film only grows; go higher, or strip the parts", name, show(volts), d.Rack.FormedTo)
	case ceiling > 0 && ceiling <= volts:
		return fmt.Errorf("plan %q: the ceiling %v is not above the target %s: raise it, or leave it out for %s", name, ceiling, show(volts), show(ceilingOver(volts)))
	}
	return nil
}

func (d *draft) fill(target target) error {
	window := d.bathWindow()
	if most := d.hottest(); window.Least >= most {
		return fmt.Errorf("plan %q: a run ends where the bath is hotter than %s (bath hottest), and this load may start from %v on: raise it, or take a cooler bath", d.Profile.Name, show(most), window.Least)
	}
	if window.Least >= window.Most {
		return fmt.Errorf("plan %q: calibration %q is for %v and the bath %q is kept from %v to %v: no temperature fits both; make a ladder in this bath", d.Profile.Name, d.Calibration.ID, window.Law, d.Bath.ID, d.Bath.LeastTemp, d.Bath.MostTemp)
	}
	d.film = d.startingFilm(target.end)
	d.plan = Plan{
		Profile: d.Profile.Name, Rack: d.Rack.Name, Metal: d.Metal.ID, Bath: d.Bath.ID,
		Area: d.area.Total, Parts: d.area.Count, LargestPart: d.area.Largest, SmallestPart: d.area.Smallest,
		TargetVolts: target.volts, CeilingVolts: d.ceiling(target.volts),
		CurrentLimit: d.limit, CurrentDensity: d.Profile.CurrentDensity, Ramp: d.Profile.Ramp,
		Calibration: d.Calibration, Choice: d.Choice, BathWindow: window, Watch: d.Profile.Watch, History: d.History, Learned: d.learned(),
		Law: Law{
			I0: d.law.I0, B: d.law.B, KF: d.law.KF, Efficiency: d.law.Efficiency,
			NativeFilm: d.film, Series: d.series,
		},
		Simulated: d.Simulated, Job: d.Job, Warnings: append([]Warning{}, target.warnings...), // never null
	}
	return d.forecast(target)
}

func (d *draft) ceiling(volts unit.Volts) unit.Volts {
	if d.Profile.Ceiling > 0 {
		return d.Profile.Ceiling
	}
	return ceilingOver(volts)
}

// ceilingOver is the ceiling where none was asked for: half a volt is a colour
// difference of about 1 to 1.7 on titanium, computed.
func ceilingOver(volts unit.Volts) unit.Volts { return volts + max(0.5, volts/100) }

// below is the highest target whose ceiling is not above the volts of a supply.
func below(highest unit.Volts) unit.Volts {
	return unit.Volts(math.Floor(float64(min(highest-0.5, highest/1.01))*grainsInAVolt) / grainsInAVolt)
}

// startingFilm is the film on the parts at the start: what air leaves, or what the
// volts that the rack was formed to had grown by the profile's own end.
func (d *draft) startingFilm(end unit.CurrentDensity) unit.Nanometres {
	if d.Rack.FormedTo > 0 {
		return max(d.nativeFilm(), d.law.Thickness(d.Rack.FormedTo, end))
	}
	return d.nativeFilm()
}

// thinnest is the least film that the law is followed from: a metal without any
// carries no field.
const thinnest unit.Nanometres = 0.1

func (d *draft) nativeFilm() unit.Nanometres { return max(d.Metal.NativeFilm, thinnest) }
