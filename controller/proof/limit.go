package proof

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// grace is what a comparison of steps forgives binary fractions.
const grace = 1e-6

// Points are the values that are written for a limit: the least, one step more, a value
// between two steps, a third, most of it, the highest.
func Points(least, highest, step float64) []float64 {
	points := []float64{least}
	if step > 0 {
		points = append(points, math.Min(highest, least+step), math.Min(highest, math.Max(least, (math.Floor(highest/step/7)+0.4)*step)))
	}
	return append(points, math.Max(least, highest/3), math.Max(least, 0.8*highest), highest)
}

// JudgeVolts judges a voltage that was written with the output off.
func JudgeVolts(asked, held, step unit.Volts, off bool, failed error) Limit {
	return judge("voltage", unit.Symbol[unit.Volts](), float64(asked), float64(held), float64(step), off, failed)
}

// JudgeAmperes judges a current limit that was written with the output off.
func JudgeAmperes(asked, held, step unit.Amperes, off bool, failed error) Limit {
	return judge("current", unit.Symbol[unit.Amperes](), float64(asked), float64(held), float64(step), off, failed)
}

// tripStep is how far a trip level may stand from what was asked: they are coarser than
// setpoints. Our choice.
const tripStep = 0.01

// JudgeTrip judges the level of the supply's own over-voltage trip.
func JudgeTrip(asked, held unit.Volts, off bool, failed error) Limit {
	l := judge("over-voltage trip", unit.Symbol[unit.Volts](), float64(asked), float64(held), math.NaN(), off, failed)
	if l.OK && math.Abs(float64(held-asked)) > math.Max(0.5, tripStep*float64(asked)) {
		l.OK, l.Why = false, fmt.Sprintf("asked for %.4g V, the supply holds %.4g V", float64(asked), float64(held))
	}
	return l
}

// JudgeLostHost judges whether the supply's own lost-host timer was armed and disarmed, and
// said so each time.
func JudgeLostHost(held unit.Seconds, off bool, failed error) Limit {
	if failed != nil {
		held = unit.Seconds(math.NaN())
	}
	return judge("lost-host timer", unit.Symbol[unit.Seconds](), float64(held), float64(held), math.NaN(), off, failed)
}

func judge(what, symbol string, asked, held, step float64, off bool, failed error) Limit {
	l := Limit{What: what, Unit: symbol, Asked: Number(asked), Held: Number(held), Off: off}
	switch {
	case !off:
		l.Why = "the output is not read back as off after a write: pull the plug, and do not use this supply"
	case failed != nil:
		l.Why = failed.Error()
	case math.IsNaN(held):
		l.Why = "the supply did not say what it holds"
	case math.IsNaN(step):
		l.OK = true
	case held > asked+grace*math.Max(step, 1e-3):
		l.Why = fmt.Sprintf("asked for %.6g %s, the supply holds %.6g %s: it rounds up", asked, symbol, held, symbol)
	case asked-held > math.Max(step, 1e-6)*(1+grace):
		l.Why = fmt.Sprintf("asked for %.6g %s, the supply holds %.6g %s: it clamps silently, or the highest value in the bench file is above what it can", asked, symbol, held, symbol)
	default:
		l.OK = true
	}
	return l
}
