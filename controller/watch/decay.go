package watch

import (
	"math"

	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/hal/unit"
)

// decay follows the current of a hold: which softness it shows, when it will have
// reached the end, and what does not die away.
type decay struct {
	start   float64 // s, NaN before the hold
	current float64 // film current at the end of the ramp, A
	rate    float64 // of the film just before, V/s
	relax   float64 // s, time constant just after the ramp
	law     film.Decay
	fits    [15]float64 // softness seen, the last ones
	n       int
	next    float64 // when to fit again
	early   float64 // softness of the first five seconds
	leak    float64
	left    [3]float64 // s: least, likely, most
	total   float64    // s of hold to the end current, as the last fit has it; NaN: not worked out yet
}

func (d *decay) reset() {
	*d = decay{start: math.NaN(), early: math.NaN(), leak: math.NaN(), total: math.NaN()}
	d.left = [3]float64{math.NaN(), math.NaN(), math.NaN()}
}

// softness is the median of the fits so far; NaN before there are any.
func (d *decay) softness() float64 {
	m := min(d.n, len(d.fits))
	if m == 0 {
		return math.NaN()
	}
	var s [len(d.fits)]float64
	for k := range m {
		j := k
		for ; j > 0 && s[j-1] > d.fits[k]; j-- {
			s[j] = s[j-1]
		}
		s[j] = d.fits[k]
	}
	return s[m/2]
}

// begin remembers how the ramp ended. A ramp that the current limit slowed ends
// with its measured rate.
func (w *Watch) begin(k Tick) {
	d := &w.decay
	d.reset()
	d.start = float64(k.T)
	d.current = w.medianI.value()
	d.rate = w.endRate(d.start)
	j := w.density(d.current)
	if w.plan.ContactCheck.FormedVolts > 0 { // the volts of a formed rack rise faster than its film, up to where that grows
		d.rate = min(d.rate, w.law.KF*w.law.Efficiency*float64(j)*1e-3/w.law.NMPerVolt(j))
	}
	u := w.law.Softness(j)
	volts := w.medianV.value()
	drop := w.seenSeries() * d.current
	film := max(0.1, volts-drop)
	d.relax = (film/u + drop) / d.rate
	d.law = decayLaw(volts, d.rate, drop, u)
	d.next = d.start + 1
}

func decayLaw(volts, rate, drop, softness float64) film.Decay {
	return film.Decay{Volts: unit.Volts(volts), Rate: unit.VoltsPerSecond(rate), SeriesDrop: unit.Volts(drop), U0: softness}
}

// seenSeries is the series resistance that the ramp showed, or what is expected of
// the bath where it showed none.
func (w *Watch) seenSeries() float64 {
	if w.live.ok {
		return w.live.series
	}
	return w.series()
}

// endRate is the slope of the film's volts over the last two seconds.
func (w *Watch) endRate(now float64) float64 {
	var l sums
	for n := range w.ring.n {
		s := w.ring.at(n)
		if now-s.t > 2 {
			break
		}
		if n >= 2 { // the newest may be past the corner
			l.add(s.t, s.v-w.seenSeries()*s.i)
		}
	}
	slope := l.line().slope
	if !(slope > 0.05*float64(w.book.rate)) {
		return float64(w.book.rate)
	}
	return min(slope, 1.2*float64(w.book.rate))
}

// follow is the decay's share of a tick in the hold: once a second a fit, always
// the time left.
func (w *Watch) follow(k Tick) {
	d := &w.decay
	now := float64(k.T)
	if now+1e-9 >= d.next && w.bridged(now-gapSettles) { // the median stands for another moment across a long gap
		d.next = now + 1
		held, x := w.medianTime()-d.start, w.medianI.value()/d.current
		if x > 0.03 && x < 0.9 {
			w.refit(held, x)
		}
		if held > 30 {
			w.floor(held, x)
		}
	}
	w.predict(k, now-d.start)
}

func (w *Watch) refit(held, x float64) {
	d := &w.decay
	u := film.FitU0(d.law, x, unit.Seconds(held))
	if math.IsNaN(u) || u < 8 || u > 80 {
		return
	}
	d.fits[d.n%len(d.fits)] = u
	d.n++
	d.law.U0, d.total = d.softness(), math.NaN()
	if held <= 5.5 && w.bridged(d.start-2.5) { // one long hole in the end of the ramp or in the start of the hold, and it foretells nothing
		d.early = d.law.U0
	}
}

// medianTime is when the median of five stood: two readings back.
func (w *Watch) medianTime() float64 { return w.ring.at(min(2, w.ring.n-1)).t }

// floor is the current above what the first five seconds foretold: a leak, or a
// reaction that makes no film.
func (w *Watch) floor(held, x float64) {
	d := &w.decay
	if math.IsNaN(d.early) {
		return
	}
	law := d.law
	law.U0 = d.early
	d.leak = d.current * (x - law.Ratio(unit.Seconds(held)))
}

// predict is the time to the end as a range. Before the decay has been seen the
// range is that of the softness of known films: a third either way.
func (w *Watch) predict(k Tick, held float64) {
	d, end := &w.decay, w.end()
	if end.Time > 0 {
		left := max(0, float64(end.Time)-held)
		d.left = [3]float64{left, left, left}
		return
	}
	x := float64(end.Current) / d.current
	if x >= 1 {
		left := float64(end.Sustained)
		d.left = [3]float64{0, left, left}
		return
	}
	if math.IsNaN(d.total) {
		d.total = float64(d.law.Time(x))
	}
	total := d.total + float64(end.Sustained)
	total = max(total, float64(end.LeastHold))
	spread := 0.33
	if d.n > 0 {
		spread = max(0.02, 0.2/math.Sqrt(float64(d.n)))
	}
	likely := total - held
	d.left = [3]float64{max(0, total*(1-spread)-held), max(0, likely), max(0, total*(1+spread)-held)}
}

// end is the end criterion of the stage.
func (w *Watch) end() plan.End {
	if len(w.plan.Stages) == 0 {
		return w.plan.End
	}
	return w.plan.Stages[min(w.stage, len(w.plan.Stages)-1)].End
}
