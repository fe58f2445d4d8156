package calibrate

import (
	"fmt"
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Verdict is what a fit is good for.
type Verdict string

// The verdicts. A local calibration holds between its own volts only.
const (
	Good          Verdict = "good"
	Local         Verdict = "local"
	NotDetermined Verdict = "not-determined"
	Rejected      Verdict = "rejected"
)

// The limits of the verdicts; our own choice where no source stands beside them.
const (
	leastReadings = 3   // different volts, for two numbers and something that shows the scatter
	wrongAtMost   = 0.2 // of the readings
	leastFarOff   = 6   // readings that show a surface which the tables describe only nearly
	rivalGain     = 16  // of the loss over the variance: e^-8 as likely
	leastNoise    = 0.5 // CIELAB an axis, that a rival is judged by where fewer shows
)

// rivals are other orders that the readings fit nearly as well.
func (f *fitter) rivals(used []datum, at fitted) []Rival {
	variance := leastNoise * leastNoise
	if left := freedom(len(used), at.free); left > 0 {
		variance = max(variance, at.loss/left)
	}
	var found []Rival
	for _, other := range f.basins(used, f.starts) {
		if sameBasin(other.numbers, at.numbers) || other.loss-at.loss > rivalGain*variance {
			continue
		}
		found = append(found, Rival{other.numbers[1], unit.Nanometres(other.numbers[0]), f.rms(used, other.numbers)})
	}
	return found
}

func (f *fitter) rms(data []datum, n numbers) float64 {
	sum := 0.0
	for _, d := range data {
		off := difference(d.lab, f.path.lab(n.film(d.volts)))
		sum += off * off
	}
	return math.Sqrt(sum / float64(len(data)))
}

// decide says what the fit is good for, and why it is not better.
func (fit *Fit) decide(l Ladder) {
	fit.Verdict = Good
	fit.decideLocal()
	fit.decideFarOff()
	fit.decideDetermined()
	fit.decideRejected(l.Range)
	fit.noteScale()
}

func (fit *Fit) worse(v Verdict, format string, args ...any) {
	fit.Verdict = v
	fit.Reasons = append(fit.Reasons, fmt.Sprintf(format, args...))
}

func (fit *Fit) note(format string, args ...any) {
	fit.Notes = append(fit.Notes, fmt.Sprintf(format, args...))
}

func (fit *Fit) decideLocal() {
	if share := fit.NMPerVoltSD / fit.NMPerVolt; !(share <= profiles.WellDetermined) && fit.Freedom > 0 {
		middle := (fit.From + fit.To) / 2
		fit.worse(Local, "the readings are too close together, %.4g to %.4g V, or scatter too much: nm/V is known to %.1f %%, offset and nm/V go together (correlation %.3f); use it between these volts only, where the film is known to %.2g nm at %.4g V",
			float64(fit.From), float64(fit.To), 100*share, fit.Correlation, float64(fit.FilmSD(middle)), float64(middle))
	}
}

func (fit *Fit) decideDetermined() {
	used, wrong := fit.counts()
	if volts := fit.voltsUsed(); volts < leastReadings {
		fit.worse(NotDetermined, "%d readings at %d different volts are left: at least %d are needed, and eight make a good ladder", used, volts, leastReadings)
	}
	if float64(wrong) > wrongAtMost*float64(used+wrong)+0.5 {
		fit.worse(NotDetermined, "%d of %d readings cannot be right, and at most a fifth may be left out: read these coupons again", wrong, used+wrong)
	}
	for _, r := range fit.Rivals {
		fit.worse(NotDetermined, "another order fits nearly as well: %.3f nm/V and %.1f nm, CIEDE2000 %.1f in the mean; a coupon between these volts, or a few volts off, decides", r.NMPerVolt, float64(r.Offset), r.RMS)
	}
	if fit.Offset <= leastOffset || fit.Offset >= mostOffset {
		fit.worse(NotDetermined, "the offset ran to the edge of what is searched, %.3g nm: the volts, or the metal, are not those of these coupons", float64(fit.Offset))
	}
	if fit.ScaleFitted && (fit.IndexScale <= leastScale || fit.IndexScale >= mostScale) {
		fit.worse(NotDetermined, "the scale of the index ran to the edge of what is searched, %.3g: fit without it, or take other optical tables", fit.IndexScale)
	}
}

// decideFarOff judges readings that lie further from the fit than readings and coupons
// scatter. Of 600 random baths whose colours are of other optical tables than the fit's, with
// 0.4 CIELAB of noise an axis: up to profiles.GoodRMS the colours between the coupons are right to
// CIEDE2000 1.0 in 95 of 100; up to profiles.HighestRMS six readings or more leave them 2.6 off in the
// middle, and 20 V beyond them 2.7 to 4.1, which is no good calibration; fewer leave them up
// to 9.9 off. Above, the product of index and nm/V is 10 to 18 % off at 95 of 100.
func (fit *Fit) decideFarOff() {
	used, _ := fit.counts()
	worst := fit.furthest()
	where := fmt.Sprintf("the readings lie CIEDE2000 %.1f from the best fit in the mean, %.1f at %.4g V", fit.RMS, worst.DE00, float64(worst.Volts))
	switch {
	case !(fit.RMS > profiles.GoodRMS):
	case fit.RMS > profiles.HighestRMS:
		fit.worse(NotDetermined, "%s, more than %d: the optical tables do not describe this surface, or illuminant, observer or geometry are not those of the readings; colours by these tables, and volts for a colour, are as far off, so take the volts of the coupons themselves, and colour one more between two where none has the wanted colour", where, profiles.HighestRMS)
	case used < leastFarOff:
		fit.worse(NotDetermined, "%s, and good ladders stay below %.1f: %d readings do not tell whether coupons scatter or the optical tables are others; at least %d are needed, or tables that describe them better", where, profiles.GoodRMS, used, leastFarOff)
	default:
		fit.worse(Local, "%s, and good ladders stay below %.1f: coupons scatter, or the optical tables describe this surface only nearly; colours between these volts are as far off, and beyond them up to twice that", where, profiles.GoodRMS)
	}
}

// furthest is the reading that was used and lies furthest from the fit.
func (fit *Fit) furthest() (worst Judged) {
	for _, r := range fit.Readings {
		if !r.Wrong && !(r.DE00 <= worst.DE00) {
			worst = r
		}
	}
	return worst
}

func (fit *Fit) decideRejected(possible Range) {
	if !possible.holds(fit.NMPerVolt) {
		fit.worse(Rejected, "%.3f nm/V is outside what is possible, %.2f to %.2f (%s): check the metal, the volts and the tables", fit.NMPerVolt, possible.Least, possible.Most, possible.Source)
	}
}

// noteScale says what colour fixes.
func (fit *Fit) noteScale() {
	if fit.ScaleFitted {
		fit.note("colour fixes index times thickness: %.4f optical nm/V at n = %.3f of the table; its split into %.4f nm/V and %.3f times that index is far less certain", fit.OpticalNMPerVolt, fit.FilmIndex, fit.NMPerVolt, fit.IndexScale)
		return
	}
	fit.note("colour fixes index times thickness: these are optical nm/V at n = %.3f; true nanometres need a thickness from elsewhere", fit.FilmIndex)
}

func (fit *Fit) counts() (used, wrong int) {
	for _, r := range fit.Readings {
		if r.Wrong {
			wrong++
		} else {
			used++
		}
	}
	return used, wrong
}

func (fit *Fit) voltsUsed() int {
	seen := map[unit.Volts]bool{}
	for _, r := range fit.Readings {
		if !r.Wrong {
			seen[r.AtEnd] = true
		}
	}
	return len(seen)
}
