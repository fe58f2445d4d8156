package calibrate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Reading is the colour of one coupon.
type Reading struct {
	Volts unit.Volts // that the supply ended at
	Lab   colour.Lab
	End   unit.CurrentDensity // at the end of the hold; 0 is not known, and taken as the ladder's
	Spot  string              // where it was read, for people
}

// Ladder is readings, and what they are read against.
type Ladder struct {
	Readings        []Reading
	Film, Substrate profiles.Table
	Observer        profiles.ColourMatching
	Light           profiles.Light
	Law             film.Law            // of the growth: its softness converts end current densities
	End             unit.CurrentDensity // that the calibration is wanted for, above 0
	Range           Range               // of nm/V that counts as possible
	Scale           ScaleChoice
}

// ScaleChoice says what becomes of the scale of the film's index.
type ScaleChoice uint8

// By default the readings decide; it may be held at 1, or fitted whatever they say.
const (
	ScaleByReadings ScaleChoice = iota
	ScaleFixed
	ScaleFree
)

// The errors of readings that nothing can be fitted to.
var (
	ErrTooFew  = errors.New("too few readings")
	ErrReading = errors.New("no colour of a coupon")
)

// leastVolts is the least number of different volts that a fit is tried with: two
// numbers are wanted.
const leastVolts = 2

// check refuses what is no ladder.
func (l Ladder) check() error {
	for i, r := range l.Readings {
		for _, value := range []float64{float64(r.Volts), r.Lab.L, r.Lab.A, r.Lab.B, float64(r.End)} {
			if math.IsNaN(value) || math.IsInf(value, 0) {
				return fmt.Errorf("reading %d at %v: %w: a number of it is not finite", i+1, r.Volts, ErrReading)
			}
		}
		if r.Volts < 0 || r.Volts > mostVolts || r.End < 0 {
			return fmt.Errorf("reading %d at %v, end %v: %w: volts are from 0 to %v, the end is not below 0", i+1, r.Volts, r.End, ErrReading, mostVolts)
		}
	}
	if !(l.End > 0) || math.IsInf(float64(l.End), 0) {
		return fmt.Errorf("fit a ladder: the end current density is %v: it must be above 0", l.End)
	}
	if count := l.differentVolts(); count < leastVolts {
		return fmt.Errorf("fit a ladder: %w: %d readings at %d different volts; at least %d are needed, and eight make a good ladder", ErrTooFew, len(l.Readings), count, leastVolts)
	}
	return nil
}

// mostVolts bounds what is taken: no bath of this trade goes higher.
const mostVolts unit.Volts = 500

func (l Ladder) differentVolts() int {
	volts := make([]unit.Volts, 0, len(l.Readings))
	for _, r := range l.Readings {
		volts = append(volts, r.Volts)
	}
	slices.Sort(volts)
	return len(slices.Compact(volts))
}

// atEnd is the volts that would have made the film of a reading at the ladder's end: of
// the same volts, less current at the end makes more film.
func (l Ladder) atEnd(r Reading) float64 {
	if r.End == 0 || r.End == l.End {
		return float64(r.Volts)
	}
	return float64(r.Volts) * l.Law.Softness(l.End) / l.Law.Softness(r.End)
}
