package plan

import (
	"anodized/controller/film"
	"anodized/hal/unit"
)

// Trace follows the plan by its own law, a point each so many seconds, from the first
// energised second to the expected end. It is what a window draws before there are
// readings.
func (p Plan) Trace(every unit.Seconds) ([]film.Point, error) {
	load := film.Load{Law: film.Law{I0: p.Law.I0, B: p.Law.B, KF: p.Law.KF, Efficiency: p.Law.Efficiency},
		Area: p.Area, Series: p.Law.Series, Native: p.Law.NativeFilm, Target: p.TargetVolts, Rate: p.Ramp, Limit: p.CurrentLimit,
		Check: film.Ramp{To: p.ContactCheck.Volts, Rate: p.ContactCheck.Ramp},
		End: film.End{Density: p.End.CurrentDensity, Sustained: p.End.Sustained, Least: p.End.LeastHold,
			Longest: p.End.LongestHold, Time: p.End.Time}}
	var at []unit.Seconds
	for i := 0; unit.Seconds(i)*every <= p.Expected.RampSeconds+p.Expected.HoldSeconds; i++ {
		at = append(at, unit.Seconds(i)*every)
	}
	return film.Trace(load, at)
}
