package plan

import (
	"fmt"
	"math"

	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Key is what the calibration of this request is to fit.
func (r Request) Key() Key {
	key := Key{Metal: r.Metal.ID, Bath: r.Bath.ID, Temperature: or(r.Temperature, r.Bath.Temperature),
		Today: r.Today, Renewed: r.Bath.Renewed, Simulated: r.Simulated}
	if !(r.Profile.End.Time > 0) {
		key.End = r.Profile.End.CurrentDensity
	}
	if finishes := distinct(r.Rack.Parts, func(p profiles.Part) string { return p.Finish }); len(finishes) == 1 {
		key.Finish = finishes[0]
	}
	return key
}

func (d *draft) warnOfCalibration() []Warning {
	var found []Warning
	c := d.Calibration
	if c.Book {
		found = append(found, warn(BookCalibration, "calibration %q was not measured in this bath (%s): make a ladder, or a coupon first", c.ID, c.Provenance))
	}
	if c.Metal != "" && c.Metal != d.Metal.ID {
		found = append(found, warn(CalibrationOtherMetal, "calibration %q is for %s and the parts are %s: make a ladder of this metal", c.ID, c.Metal, d.Metal.ID))
	}
	if c.Bath != "" && c.Bath != d.Bath.ID {
		found = append(found, warn(CalibrationOtherBath, "calibration %q is for the bath %s and the parts hang in %s: make a ladder in this bath", c.ID, c.Bath, d.Bath.ID))
	}
	if d.Profile.Metal != "" && d.Profile.Metal != d.Metal.ID {
		found = append(found, warn(ProfileOtherMetal, "the profile is for %s and the plan for %s: check the colour on a coupon", d.Profile.Metal, d.Metal.ID))
	}
	if d.Profile.Bath != "" && d.Profile.Bath != d.Bath.ID {
		found = append(found, warn(ProfileOtherBath, "the profile is for the bath %s and the plan for %s: check the colour on a coupon", d.Profile.Bath, d.Bath.ID))
	}
	return append(append(found, d.warnOfCoupons()...), d.warnOfConversion()...)
}

// warnOfCoupons tells what the load has otherwise than the coupons of the ladder had.
func (d *draft) warnOfCoupons() []Warning {
	var found []Warning
	c, key := d.Calibration, d.Key()
	if why := key.stale(c); why != "" {
		found = append(found, warn(CalibrationStale, "calibration %q is stale: %s; colour one coupon and measure it, or make a ladder anew", c.ID, why))
	}
	for _, finish := range distinct(d.Rack.Parts, func(p profiles.Part) string { return p.Finish }) {
		if c.Finish != "" && !sameWords(finish, c.Finish) {
			found = append(found, warn(CalibrationOtherFinish, "calibration %q is for the finish %q and parts here are %q: the same volts look otherwise on it; make a ladder of this finish", c.ID, c.Finish, finish))
		}
	}
	if c.RMSDE00 > profiles.GoodRMS {
		found = append(found, warn(CalibrationPoor, "calibration %q misses its own readings by dE00 %.1f, and good ones stay below %.1f: colours and volts by it are as far off; judge a coupon at %s first", c.ID, c.RMSDE00, profiles.GoodRMS, d.plan.TargetVolts))
	}
	if e := d.plan.Expected; !c.Covers(d.plan.TargetVolts) {
		found = append(found, warn(CalibrationExtrapolated, "the ladder of calibration %q covers %s to %s and the target is %s: there the film is known to +-%.2g nm, that is +-%s or dE00 %.2g (one standard deviation); add a coupon there", c.ID, c.FromVolts, c.ToVolts, d.plan.TargetVolts, float64(e.ThicknessSD), show(e.VoltsSD), e.DE00SD))
	}
	return append(found, d.warnOfTemperature()...)
}

// warnOfTemperature tells how far the bath is from the ladder's. Where it was not read
// today, what is usual for the bath is compared, and nothing is converted.
func (d *draft) warnOfTemperature() []Warning {
	at, now := d.Calibration.Temperature, or(d.Temperature, d.Bath.Temperature)
	off := now - at
	switch {
	case at == 0 && d.Temperature != 0:
		return []Warning{warn(TemperatureConvertsNothing, "the bath was read at %s, and calibration %q does not say at which temperature it was made: the film is not reckoned for it; a kelvin is %.1f %% of film", show(now), d.Calibration.ID, 100*perKelvin)}
	case at == 0 && d.Calibration.Book:
		return nil // that it was not measured in this bath is said already
	case at == 0:
		return []Warning{warn(BathNotRead, "the bath was not read, and calibration %q does not say at which temperature it was made: a kelvin between the two is %.1f %% of film, %.2g nm; read the bath, and note it with the next ladder", d.Calibration.ID, 100*perKelvin, perKelvin*float64(d.plan.Expected.Thickness))}
	case max(off, -off) <= warmer:
		return d.warnOfNoReading()
	}
	change := perKelvin * float64(off)
	told := fmt.Sprintf("it is usually at %s and was not read: the film may differ by %+.1f %%, %+.2g nm; read the bath and plan again", show(now), 100*change, change*float64(d.plan.Expected.Thickness))
	if d.Temperature != 0 {
		told = fmt.Sprintf("it is at %s: reckoned with %+.1f %% of film, %+.2g nm, which nobody has confirmed in this bath; bring the bath to its temperature, or make a ladder at this one", show(now), 100*change, change*float64(d.plan.Expected.Thickness))
	}
	return []Warning{warn(CalibrationOtherTemperature, "calibration %q was made at %s, and %s", d.Calibration.ID, show(at), told)}
}

// warnOfNoReading tells what a bath that nobody read may be off, though it is usually near
// the ladder's.
func (d *draft) warnOfNoReading() []Warning {
	if d.Temperature != 0 {
		return nil
	}
	at, window, film := d.Calibration.Temperature, d.plan.BathWindow, float64(d.plan.Expected.Thickness)
	off := func(t unit.Celsius) float64 { return perKelvin * float64(t-at) * film }
	return []Warning{warn(BathNotRead, "the bath was not read: the film is reckoned as at the %s of calibration %q; from %s to %s, where a load may start, it is %+.2g to %+.2g nm; read the bath and plan again", show(at), d.Calibration.ID, show(window.Least), show(window.Most), off(window.Least), off(window.Most))}
}

func or[T comparable](given, otherwise T) T {
	if given != *new(T) {
		return given
	}
	return otherwise
}

// warnOfConversion tells where the film was computed for another end than the
// calibration's: the softness of the law is then part of the colour.
func (d *draft) warnOfConversion() []Warning {
	at, end := d.Calibration.EndCurrentDensity, d.ended
	if math.Abs(float64(end-at)) <= 1e-6*float64(at) {
		return nil
	}
	factor, sd := d.law.Convert(at, end, film.SoftnessSD(d.Metal.Growth, d.Calibration))
	source := "the usual constants of the metal"
	if d.Calibration.Softness > 0 {
		source = "the softness of this bath's own decays"
	}
	return []Warning{warn(CalibrationOtherEnd, "calibration %q is for an end at %v and this run ends at %s: %+.1f %% film, +-%.2g %%, by %s; a ladder with this end makes it certain", d.Calibration.ID, at, show(end), 100*(factor-1), 100*sd, source)}
}
