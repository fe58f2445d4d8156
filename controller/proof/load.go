package proof

import (
	"fmt"
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Resistor is what is hung on the output, as its marking says.
type Resistor struct {
	Ohms      unit.Ohms
	Tolerance float64 // per cent
	Watts     float64 // that it may take
	Meter     string  // the second meter, "" for none
	MeterOff  float64 // per cent that the second meter may be off
}

// LoadPlan is how the resistor is tried.
type LoadPlan struct {
	Points []unit.Volts
	Limit  unit.Amperes
}

// The bounds of the test, our choice.
const (
	heatShare               = 0.6 // of what the resistor may take: it stands in still air
	currentShare            = 0.8 // of the supply's highest current
	limitMargin             = 1.2 // of the current at the highest point
	leastTop     unit.Volts = 5   // less says nothing
	leastCount              = 20  // steps of the meter of amperes at the highest point
)

// Plan works out three voltages that the resistor stands, and the current limit.
func (r Resistor) Plan(s Supply) (LoadPlan, error) {
	if !(r.Ohms > 0 && r.Watts > 0 && r.Tolerance >= 0 && r.MeterOff >= 0) {
		return LoadPlan{}, fmt.Errorf("a resistor of %v for %g W: both above 0 are needed", r.Ohms, r.Watts)
	}
	ohms := float64(r.Ohms)
	top := math.Min(float64(s.HighestVolts), math.Min(math.Sqrt(heatShare*r.Watts*ohms), currentShare*float64(s.HighestAmperes)*ohms))
	top = math.Floor(top*10+grace) / 10
	switch count := top / ohms / math.Max(1e-9, float64(s.AmpereStep)); {
	case top < float64(leastTop):
		return LoadPlan{}, fmt.Errorf("%v for %g W stands %.3g V only, %v are needed: take one for more watts", r.Ohms, r.Watts, top, leastTop)
	case count < leastCount:
		return LoadPlan{}, fmt.Errorf("%v draws %.3g A at %.3g V, %.0f steps of the supply's amperes, %d are needed: take a smaller one", r.Ohms, top/ohms, top, count, leastCount)
	}
	p := LoadPlan{Limit: unit.Amperes(math.Min(float64(s.HighestAmperes), limitMargin*top/ohms+leastSteps*float64(s.AmpereStep)))}
	for _, share := range []float64{0.2, 0.6, 1} {
		p.Points = append(p.Points, unit.Volts(math.Floor(share*top*10+grace)/10))
	}
	return p, nil
}

// Point is one voltage as it was read; Metered is NaN without a second meter.
type Point struct {
	Set     unit.Volts
	Volts   unit.Volts
	Amperes unit.Amperes
	Metered unit.Volts
}

// LoadTest is what a resistor on the output showed.
type LoadTest struct {
	Resistor  unit.Ohms    `json:"resistor_ohm"`
	Tolerance float64      `json:"tolerance_percent"`
	Watts     float64      `json:"power_watts"`
	Meter     string       `json:"meter"` // the second one, "" for none
	Points    []PointShown `json:"points"`
	Volts     *Fit         `json:"volts"` // against the second meter; null without one
	Amperes   *Fit         `json:"amperes"`
	Outcome   string       `json:"outcome"` // of the energised part
	Done      bool         `json:"done"`
	OK        bool         `json:"ok"`
	Why       string       `json:"why"`
	Stored    string       `json:"stored_in"` // the bench file, "" where it was not stored
}

// PointShown is a point in JSON.
type PointShown struct {
	Set     Number `json:"set_volts"`
	Volts   Number `json:"volts"`
	Amperes Number `json:"amperes"`
	Metered Number `json:"metered_volts"`
}

// Fit is how a reading stands to what is true: reading = gain times true plus offset.
type Fit struct {
	Gain      Number `json:"gain"`
	Offset    Number `json:"offset"`            // V or A
	Residual  Number `json:"residual"`          // the largest, V or A
	Tolerance Number `json:"tolerance_percent"` // that what is held to be true may be off
	Off       bool   `json:"measurably_off"`    // by more than that
}

// The limits of the check, those of a calibration.
const (
	mostGain     = 0.05
	mostOffset   = 0.01  // of the full scale
	mostResidual = 0.005 // of the full scale
)

// Judge makes the verdict of points that were read. The outcome is that of the energised
// part; only complete has points worth judging.
func (r Resistor) Judge(points []Point, s Supply, outcome, why string) LoadTest {
	t := LoadTest{Resistor: r.Ohms, Tolerance: r.Tolerance, Watts: r.Watts, Meter: r.Meter, Outcome: outcome,
		Points: []PointShown{}, Done: outcome == "complete" || outcome == "tripped", Why: why}
	for _, p := range points {
		t.Points = append(t.Points, PointShown{Number(p.Set), Number(p.Volts), Number(p.Amperes), Number(p.Metered)})
	}
	if outcome != "complete" {
		return t
	}
	true0, tolerance := r.truth(points)
	current := make([]float64, len(points))
	for i := range points {
		current[i] = true0[i] / float64(r.Ohms)
	}
	if r.Meter != "" {
		t.Volts = fit(true0, pick(points, func(p Point) float64 { return float64(p.Volts) }), r.MeterOff)
	}
	t.Amperes = fit(current, pick(points, func(p Point) float64 { return float64(p.Amperes) }), tolerance)
	t.Why = t.fault(s)
	t.OK = t.Why == ""
	return t
}

// truth is what the volts are held to be: the second meter's, or else the supply's own.
func (r Resistor) truth(points []Point) (volts []float64, tolerance float64) {
	if r.Meter == "" {
		return pick(points, func(p Point) float64 { return float64(p.Volts) }), r.Tolerance
	}
	return pick(points, func(p Point) float64 { return float64(p.Metered) }), r.Tolerance + r.MeterOff
}

func pick(points []Point, of func(Point) float64) []float64 {
	out := make([]float64, len(points))
	for i, p := range points {
		out[i] = of(p)
	}
	return out
}

// fit is the line of least squares.
func fit(x, y []float64, tolerance float64) *Fit {
	n := float64(len(x))
	var sx, sy, sxx, sxy float64
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	gain := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	offset := (sy - gain*sx) / n
	worst := 0.0
	for i := range x {
		worst = math.Max(worst, math.Abs(y[i]-gain*x[i]-offset))
	}
	return &Fit{Number(gain), Number(offset), Number(worst), Number(tolerance), math.Abs(gain-1)*100 > tolerance}
}

func (t LoadTest) fault(s Supply) string {
	if len(t.Points) < 3 {
		return "fewer than three points were read"
	}
	if why := t.Volts.fault("volts", "V", float64(s.HighestVolts)); t.Volts != nil && why != "" {
		return why
	}
	return t.Amperes.fault("amperes", "A", float64(s.HighestAmperes))
}

func (f *Fit) fault(what, symbol string, full float64) string {
	switch {
	case f == nil:
		return ""
	case !(math.Abs(float64(f.Gain)-1) <= mostGain):
		return fmt.Sprintf("%s read %.4g times what is true, more than 5 %% off: another resistor than was named, or a wrong scale", what, float64(f.Gain))
	case !(math.Abs(float64(f.Offset)) <= mostOffset*full):
		return fmt.Sprintf("%s read %.4g %s too much or too little at nothing, more than 1 %% of %.4g %s", what, float64(f.Offset), symbol, full, symbol)
	case !(float64(f.Residual) <= mostResidual*full):
		return fmt.Sprintf("%s are %.4g %s off a straight line, more than 0.5 %% of %.4g %s: a point is wrong; take them again", what, float64(f.Residual), symbol, full, symbol)
	}
	return ""
}

// Check is the test as a bench file keeps it.
func (t LoadTest) Check(date string, simulated bool) profiles.LoadCheck {
	c := profiles.LoadCheck{Date: date, Simulated: simulated, Resistor: t.Resistor, Tolerance: t.Tolerance, Power: t.Watts,
		Meter: t.Meter, Result: profiles.CheckBad}
	if t.Meter == "" {
		c.Meter = profiles.None
	}
	if t.OK {
		c.Result = profiles.CheckGood
	}
	for _, p := range t.Points {
		point := profiles.LoadPoint{Set: unit.Volts(p.Set), Volts: unit.Volts(to(p.Volts, 1e4)), Amperes: unit.Amperes(to(p.Amperes, 1e6))}
		if p.Metered.Known() {
			metered := unit.Volts(p.Metered)
			point.Metered = &metered
		}
		c.Points = append(c.Points, point)
	}
	if t.Volts != nil {
		c.Volts = &profiles.Line{Gain: to(t.Volts.Gain, 1e5), Offset: to(t.Volts.Offset, 1e4)}
	}
	c.Amperes = profiles.Line{Gain: to(t.Amperes.Gain, 1e5), Offset: to(t.Amperes.Offset, 1e6)}
	return c
}

// to rounds to so many parts of one.
func to(n Number, parts float64) float64 { return math.Round(float64(n)*parts) / parts }
