package match

import (
	"fmt"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Verdict is what to do with a piece.
type Verdict string

// The verdicts.
const (
	Accept   Verdict = "accept"
	StepUp   Verdict = "step-up"
	Overshot Verdict = "overshot" // only stripping goes back
	Nearest  Verdict = "nearest"  // the film is the goal's, as well as one reading tells, and the colour is not
	Doubtful Verdict = "doubtful" // its film is not known
)

// Outcome is a verdict with its numbers.
type Outcome struct {
	Verdict   Verdict
	DE00      float64 // to the goal
	Allowed   float64
	Film      Film
	Goal      unit.Nanometres // film of the goal
	GoalOff   float64         // CIEDE2000 left between the goal and that film
	Add, To   unit.Volts      // 0 where there is no step
	Expected  float64         // CIEDE2000 to the goal after the step; without one, now
	NMPerVolt float64         // that the step is reckoned by
	Moved     bool            // the calibration is not of this bath today
	Why       string
}

// Judge says what to do with a piece.
func (b Basis) Judge(p Piece, g Goal, readingSD float64) Outcome {
	f := b.Film(p, readingSD)
	s := b.slopeOf(p, f)
	if f.Doubt == "" {
		f, s = b.together(p, f, s, readingSD), b.grown(p, f, s, readingSD)
	}
	dip := b.film(g, f, p.Volts, s)
	o := Outcome{
		DE00: colour.Difference(p.Measured, g.Lab), Allowed: g.Allowed(p.Measured), Film: f,
		Goal: dip.Thickness, GoalOff: dip.DE00, NMPerVolt: s.nmPerVolt, Moved: s.moved,
	}
	o.Expected = o.DE00
	slack := b.slack(dip.Thickness, o.Allowed)
	switch gap := o.Goal - f.Thickness; {
	case o.DE00 <= o.Allowed:
		o.Verdict, o.Why = Accept, "within what is allowed"
	case f.Doubt != "":
		o.Verdict, o.Why = Doubtful, f.Doubt
	case o.GoalOff > mostResidual:
		o.Verdict, o.Why = Doubtful, "no film near the piece's has the wanted colour: it is of another order, finish or metal"
	case gap < -max(sigmas*f.SD, slack):
		o.Verdict, o.Why = Overshot, fmt.Sprintf("its film is %.1f nm past the goal's", float64(-gap))
	default:
		b.grow(&o, p, g, step(f, o.Goal, s, slack, len(p.Before)))
	}
	return o
}

// grow makes a step of the verdict, or says why none helps.
func (b Basis) grow(o *Outcome, p Piece, g Goal, add unit.Volts) {
	if add == 0 {
		o.Verdict, o.Why = Nearest, "its film is the goal's, as well as one reading tells, and no step brings it nearer: measure again; what stays is finish, gloss, grade or grease"
		return
	}
	o.Verdict, o.Add, o.To = StepUp, add, p.Volts+add
	grown := o.Film.Thickness + unit.Nanometres(o.NMPerVolt*float64(add))
	o.Expected = colour.Difference(b.moved(p.Measured, o.Film.Thickness, grown), g.Lab)
	o.Why = fmt.Sprintf("its film is %.1f nm short of the goal's", float64(o.Goal-o.Film.Thickness))
}

// moved is the colour of a piece after its film has grown: what it differs from the
// model now, it keeps.
func (b Basis) moved(measured colour.Lab, from, to unit.Nanometres) colour.Lab {
	was, is := b.Surface.Lab(from), b.Surface.Lab(to)
	return colour.Lab{L: measured.L + is.L - was.L, A: measured.A + is.A - was.A, B: measured.B + is.B - was.B}
}
