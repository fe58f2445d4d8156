package match

import (
	"math"

	"anodized/hal/unit"
)

// slope is nanometres of film a volt, and how well they are known.
type slope struct {
	nmPerVolt float64
	relative  float64 // standard deviation, of 1
	moved     bool    // the calibration says otherwise than this piece
}

// estimate is a value and its standard deviation.
type estimate struct{ value, sd float64 }

// slopeOf puts together what the calibration says and what this piece shows: its film
// over its volts. Where they differ by more than both can be wrong, the piece is
// right, and the calibration is not of this bath today.
func (b Basis) slopeOf(p Piece, f Film) slope {
	seen := estimate{
		float64(f.Thickness-b.Scale.Offset) / float64(p.Volts),
		math.Hypot(float64(f.SD), float64(b.OffsetSD)) / float64(p.Volts),
	}
	told := estimate{b.Scale.NMPerVolt, max(b.SlopeSD, leastSlopeSD)}
	apart := math.Abs(seen.value - told.value)
	known, moved := []estimate{told, seen}, apart > 3*math.Hypot(seen.sd, told.sd)
	switch {
	case !(seen.value > 0) || f.Doubt != "":
		return slope{told.value, told.sd / told.value, false}
	case moved:
		known = []estimate{{seen.value, math.Hypot(seen.sd, apart/4)}}
	}
	value, sd := mean(known)
	return slope{value, sd / value, moved}
}

const leastSlopeSD = 1e-4 // nm/V: no ladder knows better

// together betters the film of a piece by its earlier readings: what it was then, and
// what it must have grown since.
func (b Basis) together(p Piece, f Film, s slope, readingSD float64) Film {
	known := []estimate{{float64(f.Thickness), float64(f.SD)}}
	for _, before := range p.Before {
		was := b.Film(Piece{Measured: before.Measured, Volts: before.Volts}, readingSD)
		growth := s.nmPerVolt * float64(p.Volts-before.Volts)
		if was.Doubt == "" && growth >= 0 {
			known = append(known, estimate{float64(was.Thickness) + growth, math.Hypot(float64(was.SD), s.relative*growth)})
		}
	}
	value, sd := mean(known)
	f.Thickness, f.SD = unit.Nanometres(value), unit.Nanometres(sd)
	return f
}

// grown betters the slope by how the piece grew in its earlier steps.
func (b Basis) grown(p Piece, f Film, s slope, readingSD float64) slope {
	known := []estimate{{s.nmPerVolt, s.relative * s.nmPerVolt}}
	for _, before := range p.Before {
		was := b.Film(Piece{Measured: before.Measured, Volts: before.Volts}, readingSD)
		if by := float64(p.Volts - before.Volts); was.Doubt == "" && by > 0 && f.Thickness > was.Thickness {
			known = append(known, estimate{float64(f.Thickness-was.Thickness) / by, math.Hypot(float64(f.SD), float64(was.SD)) / by})
		}
	}
	value, sd := mean(known)
	return slope{value, sd / value, s.moved}
}

// mean weighs by the inverse of the variance.
func mean(known []estimate) (value, sd float64) {
	sum := 0.0
	for _, e := range known {
		weight := 1 / (e.sd * e.sd)
		value += e.value * weight
		sum += weight
	}
	return value / sum, 1 / math.Sqrt(sum)
}

const (
	leastStep    = 0.1  // V: below it a step is not worth a bath
	grainsInVolt = 100  // of a step
	sigmas       = 2    // of the guard
	sigmasPast   = 2.5  // of the last step, against passing the goal
	mostGuard    = 0.75 // of a gap: where the guard leaves less, it is the last step
)

// step is by how many volts to grow on from a film to a wanted one: the gap, less two
// standard deviations of the slope and of the film. Where that takes much of a small
// gap, or after an earlier step, it is the gap itself, as far as some standard
// deviations pass it by no more than what is allowed. Slack is half of that; a gap
// within it is no gap, and after two steps one within all of it is none.
func step(f Film, want unit.Nanometres, s slope, slack unit.Nanometres, before int) unit.Volts {
	gap, sd, room := float64(want-f.Thickness), float64(f.SD), float64(slack)
	if gap <= room || (before > 1 && gap <= 2*room) {
		return 0
	}
	grown := gap*(1-sigmas*s.relative) - sigmas*sd
	if before > 0 || grown < mostGuard*gap {
		grown = max(grown, min(gap, (gap+2*room-sigmasPast*sd)/(1+sigmasPast*s.relative)))
	}
	volts := math.Floor(grown/s.nmPerVolt*grainsInVolt+1e-9) / grainsInVolt
	if volts < min(leastStep, room/s.nmPerVolt) || volts <= 0 {
		return 0
	}
	return unit.Volts(volts)
}
