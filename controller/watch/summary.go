package watch

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// book keeps the times of the phases and the last energised reading.
type book struct {
	phase        Phase
	entered      float64 // when the phase began
	hold         float64 // s, of all stages, without the phase that is on
	last         float64 // time of the last energised tick
	rate         unit.VoltsPerSecond
	steady       float64 // current of a steady ramp at that rate on the declared area, A
	judgedArea   bool
	judgedSeries bool
	energised    bool
	reached      float64 // s, first second of the first hold; NaN before
	steadyFrom   float64 // s, since when volts have been held; NaN in a ramp
}

func (b *book) reset() { *b = book{reached: math.NaN(), steadyFrom: math.NaN()} }

// tick counts the time of the phases.
func (b *book) tick(k Tick) {
	t := float64(k.T)
	if k.Phase != PhaseOff {
		b.last, b.energised = max(b.last, t), true
	}
	if k.Phase == b.phase {
		return
	}
	if b.phase == PhaseHold {
		b.hold += t - b.entered
	}
	if k.Phase == PhaseHold && math.IsNaN(b.reached) {
		b.reached = t
	}
	if k.Phase != PhaseOff {
		b.steadyFrom = math.NaN()
	}
	if k.Phase == PhaseHold {
		b.steadyFrom = t
	}
	b.phase, b.entered = k.Phase, t
}

// holdSeconds is the time spent in holds so far.
func (b *book) holdSeconds() float64 {
	if b.phase == PhaseHold {
		return b.hold + b.last - b.entered
	}
	return b.hold
}

// Summary are the numbers of the result; not a number where not known.
type Summary struct {
	EndVolts          unit.Volts // of a hold the mean of its last second, of a ramp its last reading
	HighestVolts      unit.Volts // of the film: what the parts are formed to
	EndCurrent        unit.Amperes
	EndDensity        unit.CurrentDensity
	HoldSeconds       unit.Seconds
	RampSeconds       unit.Seconds // from the first energised second to the first hold
	EnergisedSeconds  unit.Seconds
	Charge            unit.Coulombs
	LiveArea          unit.SquareCentimetres
	ThicknessByVolts  unit.Nanometres
	ThicknessByCharge unit.Nanometres
	SeriesOhm         unit.Ohms
}

// Summary returns the numbers of the run as seen so far.
func (w *Watch) Summary() Summary {
	nan := math.NaN()
	s := Summary{EndVolts: unit.Volts(nan), HighestVolts: unit.Volts(nan), EndCurrent: unit.Amperes(nan), EndDensity: unit.CurrentDensity(nan),
		Charge: unit.Coulombs(nan), RampSeconds: unit.Seconds(w.book.reached), HoldSeconds: unit.Seconds(w.book.holdSeconds()),
		EnergisedSeconds: unit.Seconds(w.book.last), LiveArea: unit.SquareCentimetres(w.live.area),
		ThicknessByVolts: unit.Nanometres(w.thick), ThicknessByCharge: w.thicknessByCharge(), SeriesOhm: unit.Ohms(w.ohms())}
	if math.IsNaN(w.book.reached) && w.book.energised {
		s.RampSeconds = unit.Seconds(w.book.last)
	}
	if w.charge.started && !w.charge.unknown {
		s.Charge = unit.Coulombs(w.charge.coulombs)
	}
	if w.ring.n > 0 {
		v, i := w.endValues()
		s.EndVolts, s.EndCurrent, s.EndDensity = unit.Volts(v), unit.Amperes(i), unit.Amperes(i).Over(w.area)
		s.HighestVolts = unit.Volts(w.formed)
	}
	return s
}

// endValues are volts as the mean of the last second of a hold, and amperes from the straight
// line of 1/I over the last seconds of a hold, longer the longer it was: that
// averages noise and steps of the reading without lagging behind the decay.
// In a ramp volts are the last reading, which a mean would lag behind, and amperes the
// filtered one.
func (w *Watch) endValues() (volts, amperes float64) {
	now := w.ring.at(0).t
	var l sums
	n := 0.0
	span := min(12, max(3, 0.15*(now-w.decay.start)))
	usable := !math.IsNaN(w.decay.start) && now-w.decay.start > span
	for m := range w.ring.n {
		s := w.ring.at(m)
		if now-s.t > 12 || now-s.t > span {
			break
		}
		if m == 0 || now-s.t <= 1+1e-9 && s.t >= w.book.steadyFrom {
			volts, n = volts+s.v, n+1
		}
		if s.i <= 0 {
			usable = false
		} else {
			l.add(s.t, 1/s.i)
		}
	}
	if usable && l.n >= 8 {
		if i := 1 / l.line().value(now); i > 0 {
			return volts / n, w.withinStep(i, now)
		}
	}
	return volts / n, w.medianI.value()
}

// withinStep replaces a current that the meter's step leaves open by the one that
// the decay of the whole hold foretells, if that lies within the step. A meter of
// ten steps to the end current would else be up to five per cent off.
func (w *Watch) withinStep(amperes, now float64) float64 {
	if w.decay.n < 3 {
		return amperes
	}
	foretold := w.decay.current * w.decay.law.Ratio(unit.Seconds(now-w.decay.start))
	if math.Abs(foretold-amperes) <= 0.6*w.noiseI.step {
		return foretold
	}
	return amperes
}

// Close judges what only the end shows, once the run is over: whether the film was
// formed as planned, which a person who saw the wanted colour has answered already,
// and what went past it.
func (w *Watch) Close(reached, byEye bool) {
	s, end := w.Summary(), w.end()
	if w.ring.n == 0 {
		return
	}
	short := float64(w.plan.TargetVolts-s.EndVolts) > w.most.TargetAway+w.noiseV.step/2
	thin := end.Time == 0 && float64(s.EndDensity) > w.most.MostEnd*float64(end.CurrentDensity)
	if !byEye && (short || thin || !reached) {
		w.found.add(fault.UnderFormed, w.book.last, "certain", float64(s.EndVolts), float64(w.plan.TargetVolts), float64(s.EndDensity))
	}
	w.floors(w.book.last)
	w.judgeSeries(w.book.last)
	w.unproven(reached)
	w.dropAtEnd(float64(s.EndCurrent))
}

// dropAtEnd: what leads and bath take at the end is missing on the film.
func (w *Watch) dropAtEnd(amperes float64) {
	if seen := w.ohms(); seen*amperes > w.most.EndDrop && seen > w.series() {
		w.found.add(fault.BathResistanceHigh, w.book.last, "possible", seen, w.series())
	}
}

// RanOut marks that a ramp or a hold took longer than the plan allows.
func (w *Watch) RanOut(code fault.Code) {
	s, end := w.Summary(), w.end()
	if code == fault.TargetNotReached {
		w.found.add(code, w.book.last, "certain", float64(s.EndVolts), float64(w.plan.TargetVolts), w.book.last)
		return
	}
	w.found.add(code, w.book.last, "certain", float64(s.EndDensity), float64(s.HoldSeconds), float64(end.CurrentDensity))
}
