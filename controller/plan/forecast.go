package plan

import (
	"fmt"

	"anodized/controller/film"
	"anodized/hal/unit"
)

const (
	shortestLongest unit.Seconds = 180
	longestLongest  unit.Seconds = 900 // the 15 min of ISO 8080:2021
)

// load is the load as the law sees it, to a target and by the end criterion.
func (d *draft) load(target unit.Volts, check ContactCheck, end End) film.Load {
	return film.Load{
		Law: d.law, Area: d.area.Total, Series: d.series, Native: d.film,
		Check: film.Ramp{To: check.Volts, Rate: check.Ramp}, Target: target, Rate: d.Profile.Ramp, Limit: d.limit,
		End: film.End{
			Density: d.Profile.End.CurrentDensity, Sustained: end.Sustained, Least: end.LeastHold,
			Longest: end.LongestHold, Time: end.Time,
		},
	}
}

// forecast follows the load by the law, and writes down what to expect, the end
// with its longest hold, the contact check and the stage.
func (d *draft) forecast(target target) error {
	check, err := d.contactCheck(target.volts)
	if err != nil {
		return fmt.Errorf("plan %q: %w", d.Profile.Name, err)
	}
	end, err := d.end(target.volts, check)
	if err != nil {
		return err
	}
	out, err := film.Run(d.load(target.volts, check, end))
	if err != nil {
		return fmt.Errorf("plan %q: %w", d.Profile.Name, err)
	}
	d.plan.ContactCheck, d.plan.End = check, end
	d.plan.Expected = d.expected(target, out)
	d.plan.Stages = []Stage{{
		Name: "colour", TargetVolts: target.volts, Ramp: d.Profile.Ramp, CurrentLimit: d.limit,
		LongestRamp: d.longestRamp(target.volts, out.RampSeconds), End: end,
	}}
	return nil
}

// end works the profile's end criterion out for this rack.
func (d *draft) end(target unit.Volts, check ContactCheck) (End, error) {
	wish := d.Profile.End
	end := End{
		CurrentDensity: wish.CurrentDensity, Current: wish.CurrentDensity.At(d.area.Total),
		Sustained: wish.Sustained, LeastHold: wish.LeastHold, LongestHold: wish.LongestHold, Time: wish.Time,
	}
	d.adopt(&end)
	if end.Time > 0 || end.LongestHold > 0 {
		return end, nil
	}
	out, err := film.Run(d.load(target, check, end))
	if err != nil {
		return End{}, fmt.Errorf("plan %q: %w", d.Profile.Name, err)
	}
	end.LongestHold = min(max(shortestLongest, 2*out.HoldSeconds), longestLongest)
	return end, nil
}

// longestRamp is some times the ramp at the current limit, and never less than some time
// over the planned one.
func (d *draft) longestRamp(target unit.Volts, planned unit.Seconds) unit.Seconds {
	whole := d.law.ChargeFor(0, d.law.Thickness(target, d.limit.Over(d.area.Total)), d.area.Total)
	moved := d.Profile.Watch.Filled()
	return max(unit.Seconds(moved.RampTimes)*unit.Seconds(float64(whole)/float64(d.limit)), planned+unit.Seconds(moved.RampSpare))
}
