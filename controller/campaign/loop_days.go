package campaign

import (
	"anodized/controller/colour"
	"anodized/controller/match"
	"anodized/hal/unit"
	"anodized/profiles"
)

// The two days: the bath 4 K apart, and the area of the second load declared 15 % wrong.
const (
	daysApart = 4
	areaWrong = 0.15
	minute    = unit.Seconds(60)
)

func (l *loop) days(want colour.Lab, own known) error {
	cold := -l.d.between(0, daysApart)
	wrong := 1 + areaWrong*float64(1-2*l.d.IntN(2))
	days := [2]pass{{known: own, warmer: cold, count: 8, declared: 1}, {known: own, warmer: cold + daysApart, count: 8, declared: wrong}}
	if l.d.IntN(2) == 0 {
		days[0].warmer, days[1].warmer = days[1].warmer, days[0].warmer
	}
	return l.twice(want, days)
}

// twice does both days by the calibration and at fixed volts, and the second one stepped up.
func (l *loop) twice(want colour.Lab, days [2]pass) error {
	var planned, fixed [2]dipped
	var err error
	for n, d := range days {
		d.target = wanted(want)
		if planned[n], err = l.load(DaysByLadder, d); err != nil {
			return err
		}
		d.target, d.held = profiles.Target{Volts: planned[0].Plan.TargetVolts}, minute
		if fixed[n], err = l.load(DaysFixed, d); err != nil {
			return err
		}
	}
	if err := l.alone(planned[0], days[0], days[1], want); err != nil {
		return err
	}
	l.off(DaysByLadder, l.surface.Lab(planned[0].film), l.surface.Lab(planned[1].film))
	l.off(DaysFixed, l.surface.Lab(fixed[0].film), l.surface.Lab(fixed[1].film))
	master := match.Goal{Lab: l.read(planned[0].film, days[0].count), Tolerance: match.UsualTolerance, Volts: planned[1].Plan.TargetVolts}
	stepped, err := l.grow(DaysStepped, days[1], l.short(planned[1]), master)
	if err != nil {
		return err
	}
	l.off(DaysStepped, l.surface.Lab(planned[0].film), l.surface.Lab(stepped.film))
	return l.adopted(planned[0], days, want, master)
}

// alone does the second day with one of the two differences only, to tell what each makes.
func (l *loop) alone(first dipped, one, two pass, want colour.Lab) error {
	bath, area := one, one
	bath.warmer, area.declared = two.warmer, two.declared
	for n, d := range []pass{bath, area} {
		row := DaysBath + LoopRow(n)
		d.target = wanted(want)
		got, err := l.load(row, d)
		if err != nil {
			return err
		}
		l.off(row, l.surface.Lab(first.film), l.surface.Lab(got.film))
	}
	return nil
}
