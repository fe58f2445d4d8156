package watch

import "math"

// holdWindow is the time whose readings a hold is judged by, s.
const holdWindow = 3.5

const (
	settledHold  = 8.0 // s, from which the line of 1/I is straight
	fallSeconds  = 0.3
	youngHold    = 4.0 // s, from which a fall is judged that the bend cannot be
	youngFall    = 0.07
	youngSeconds = 0.5
)

// holdContact compares the last half second with the straight line that 1/I
// followed in the three seconds before. Growth at constant voltage follows it; a
// part that falls off leaves it downward. Fully armed eight seconds into the hold: in
// the four before, series resistance and the change of regulation bend the line, and
// only a larger fall counts, for longer.
func (w *Watch) holdContact(k Tick) {
	now, held := float64(k.T), float64(k.T)-w.decay.start
	w.gone(w.ring.at(0), max(w.lower(held), w.drewBefore(now)))
	window := min(holdWindow, held-0.5)
	if held < youngHold || !w.seenThrough(now-holdWindow-gapSettles) {
		return
	}
	var before sums
	var lately, volts, n float64
	oldVolts, oldN := 0.0, 0.0
	for m := range w.ring.n {
		s := w.ring.at(m)
		age := now - s.t
		if age > window || s.i <= 0 {
			break
		}
		if age < 0.5-1e-9 {
			lately, volts, n = lately+s.i, volts+s.v, n+1
		} else {
			before.add(s.t, 1/s.i)
			oldVolts, oldN = oldVolts+s.v, oldN+1
		}
	}
	if before.n < 8 || n < 2 {
		return
	}
	moved := math.Abs(volts/n - oldVolts/oldN)
	if moved > max(0.001*volts/n, 0.6*w.noiseV.step+2*w.noiseV.sd()/math.Sqrt(n)) {
		w.contact.kept.since, w.contact.lowSince = math.NaN(), math.NaN()
		return
	}
	line, threshold := w.lineBefore(now, before.line())
	predicted := 1 / line.value(now-0.25)
	if !(predicted > 0) {
		w.contact.kept.since, w.contact.lowSince = math.NaN(), math.NaN()
		return
	}
	change := lately/n/predicted - 1
	seconds := fallSeconds
	if held < settledHold {
		threshold, seconds = max(threshold, youngFall), youngSeconds
	}
	w.keep(now, change, line, threshold)
	w.fell(now, change, threshold, seconds)
}

// kept is the line of before a fall: once the newest half second is below it, the
// fall itself must not bend the line that it is judged by.
type kept struct {
	line      line
	threshold float64
	since     float64 // NaN while nothing is kept
}

// lineBefore is the line to judge by, and how far below it counts.
func (w *Watch) lineBefore(now float64, l line) (line, float64) {
	if k := &w.contact.kept; now-k.since <= 1 {
		return k.line, k.threshold
	}
	return l, w.holdThreshold(l, 1/l.value(now-0.25))
}

// onTheWay is the share of the threshold from which the line is kept: a fall that leads
// and bath soften takes a moment to pass the threshold.
const onTheWay = 1.0

func (w *Watch) keep(now, change float64, l line, threshold float64) {
	k := &w.contact.kept
	switch {
	case change >= -onTheWay*threshold:
		k.since = math.NaN()
	case math.IsNaN(k.since):
		*k = kept{l, threshold, now}
	}
}

// holdThreshold knows the noise: the scatter about the line, taken as nearly
// correlated over half a second, and the step of the reading.
func (w *Watch) holdThreshold(l line, predicted float64) float64 {
	scatter := 5 * l.spread * predicted
	step := 1.5 * w.stepAmperes() / predicted
	return max(max(w.most.LostShare, w.share()), max(max(scatter, step), swaySigmas*swayInHold*w.sway.relative()))
}

// lower is a current that a hold does not fall below while film grows: three
// quarters of the simple decay from the end of the ramp.
func (w *Watch) lower(held float64) float64 {
	if !(w.decay.current > 0) {
		return 0
	}
	return 0.75 * w.decay.current / (1 + max(0, held)/w.decay.relax)
}
