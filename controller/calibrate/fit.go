package calibrate

import (
	"math"

	"anodized/controller/colour"
	"anodized/controller/optics"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Fit is what a ladder says.
type Fit struct {
	NMPerVolt, NMPerVoltSD float64
	Offset, OffsetSD       unit.Nanometres
	Correlation            float64 // of the two
	IndexScale             float64 // of the film's n; 1 where it was not fitted
	IndexScaleSD           float64 // 0 where it was not fitted
	ScaleFitted            bool
	// The product that colour fixes, as nm per volt at the table's own index.
	OpticalNMPerVolt, OpticalSD float64
	FilmIndex                   float64 // n of the table at 550 nm
	End                         unit.CurrentDensity
	Scatter                     float64 // of a reading, CIELAB an axis
	Freedom                     float64 // values less numbers
	RMS, Largest                float64 // CIEDE2000 of the readings that were used
	Readings                    []Judged
	From, To                    unit.Volts // that the readings used cover
	Rivals                      []Rival
	Verdict                     Verdict
	Reasons                     []string // why the verdict is no better
	Notes                       []string // what else is to be known

	numbers    numbers
	covariance matrix // widened by Student's factor
}

// Judged is a reading beside the fit.
type Judged struct {
	Reading
	AtEnd     unit.Volts // that make its film at the ladder's end
	Film      unit.Nanometres
	FilmSD    unit.Nanometres
	Expected  colour.Lab
	DE00      float64
	Wrong     bool // named, and not used
	Cause     Cause
	WhatToSay string // of the cause, for people; "" where it is right
}

// Rival is another answer that the readings fit nearly as well.
type Rival struct {
	NMPerVolt float64
	Offset    unit.Nanometres
	RMS       float64 // CIEDE2000
}

// FitLadder fits a ladder. The error wraps [ErrTooFew] or [ErrReading], or says what is
// wrong with the tables; that readings do not determine the calibration is no error but
// the verdict.
func FitLadder(l Ladder) (Fit, error) {
	if err := l.check(); err != nil {
		return Fit{}, err
	}
	f, err := newFitter(l)
	if err != nil {
		return Fit{}, err
	}
	f.settle()
	f.weed(f.starts[0])
	scaled, err := f.withScale(f.basins(f.used(), f.starts)[0])
	if err != nil {
		return Fit{}, err
	}
	return f.result(scaled), nil
}

// fitted is a solved ladder with what was free in it.
type fitted struct {
	solved
	free  int
	scale bool // was fitted
}

func (f *fitter) result(at fitted) Fit {
	used := f.used()
	fit := Fit{
		NMPerVolt: at.numbers[1], Offset: unit.Nanometres(at.numbers[0]), IndexScale: at.numbers[2],
		ScaleFitted: at.scale, End: f.ladder.End, Freedom: freedom(len(used), at.free), numbers: at.numbers,
		FilmIndex: real(optics.IndexAt(f.ladder.Film, middleNM)),
	}
	fit.Scatter = math.NaN()
	if fit.Freedom > 0 {
		fit.Scatter = math.Sqrt(at.loss / fit.Freedom)
		fit.covary(at.inverse, at.free)
	}
	fit.OpticalNMPerVolt = fit.NMPerVolt * fit.IndexScale
	f.judge(&fit)
	fit.Rivals = f.rivals(used, at)
	fit.decide(f.ladder)
	return fit
}

const middleNM = 550

// covary writes down the covariance of the numbers.
func (fit *Fit) covary(inverse matrix, free int) {
	factor := studentFactor(fit.Freedom)
	variance := fit.Scatter * fit.Scatter * factor * factor
	for i := range free {
		for j := range free {
			fit.covariance[i][j] = variance * inverse[i][j]
		}
	}
	c := &fit.covariance
	fit.OffsetSD, fit.NMPerVoltSD = unit.Nanometres(math.Sqrt(c[0][0])), math.Sqrt(c[1][1])
	fit.IndexScaleSD = math.Sqrt(c[2][2])
	if product := math.Sqrt(c[0][0] * c[1][1]); product > 0 {
		fit.Correlation = c[0][1] / product
	}
	s, a := fit.IndexScale, fit.NMPerVolt
	fit.OpticalSD = math.Sqrt(max(0, s*s*c[1][1]+2*s*a*c[1][2]+a*a*c[2][2]))
}

// Film is the thickness at some volts, at the ladder's end.
func (fit *Fit) Film(v unit.Volts) unit.Nanometres {
	return unit.Nanometres(math.Max(0, fit.numbers.film(float64(v))))
}

// FilmSD is the standard deviation of the film at some volts, at the ladder's end. Where
// the scale was fitted it is that of the optical film.
func (fit *Fit) FilmSD(v unit.Volts) unit.Nanometres {
	c := fit.covariance
	film, volts := fit.numbers.film(float64(v)), float64(v)
	s := fit.IndexScale
	g := numbers{s, s * volts, film}
	sum := 0.0
	for i := range g {
		for j := range g {
			sum += g[i] * c[i][j] * g[j]
		}
	}
	return unit.Nanometres(math.Sqrt(max(0, sum)) / s)
}

// judge holds each reading against the fit.
func (f *fitter) judge(fit *Fit) {
	fit.Readings = make([]Judged, len(f.data))
	fit.From = mostVolts
	sum, count := 0.0, 0.0
	for k, d := range f.data {
		i := f.order[k]
		film := math.Max(0, fit.numbers.film(d.volts))
		expected := f.path.lab(film).lab()
		judged := Judged{
			Reading: f.ladder.Readings[i], AtEnd: unit.Volts(d.volts), Film: unit.Nanometres(film),
			FilmSD: fit.FilmSD(unit.Volts(d.volts)), Expected: expected,
			DE00: colour.Difference(d.lab.lab(), expected), Wrong: f.wrong[k],
		}
		if !judged.Wrong {
			sum, count = sum+judged.DE00*judged.DE00, count+1
			fit.Largest = max(fit.Largest, judged.DE00)
			fit.From, fit.To = min(fit.From, judged.AtEnd), max(fit.To, judged.AtEnd)
		}
		fit.Readings[i] = judged
	}
	fit.RMS = math.Sqrt(sum / count)
	f.causes(fit)
}

// Calibration is the fit as a calibration of a metal, without id, place and date.
func (fit *Fit) Calibration(film, substrate profiles.Table) profiles.Calibration {
	c := profiles.Calibration{
		Film: film.ID, Substrate: substrate.ID, NMPerVolt: fit.NMPerVolt, NMPerVoltSD: fit.NMPerVoltSD,
		Offset: fit.Offset, OffsetSD: fit.OffsetSD, Correlation: fit.Correlation, EndCurrentDensity: fit.End,
		FromVolts: fit.From, ToVolts: fit.To, RMSDE00: fit.RMS,
	}
	if fit.ScaleFitted {
		c.IndexScale = fit.IndexScale
	}
	for _, r := range fit.Readings {
		if !r.Wrong {
			c.Readings++
		}
	}
	return c
}
