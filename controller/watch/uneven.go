package watch

import "math"

// Where ticks come late the setpoint stands for one and goes on: the current sinks and rises
// with it by a tenth, a film takes less volts and more that it did not grow, and what flows
// now is not what made the volts climb. Across short gaps the ratio is of one and the same
// seconds: their charge over their time, and the climb of the volts as that mean current
// would have shown them.

// unevenRatio is the ratio over so many seconds that short gaps lie in.
func (w *Watch) unevenRatio(now, seconds float64) (ratio, whole float64) {
	n := w.within(now, seconds)
	if n < 5 || now-w.contact.rampStart < w.window()+0.5 {
		return math.NaN(), math.NaN()
	}
	newest, oldest := w.ring.at(0), w.ring.at(n-1)
	mean := (newest.q - oldest.q) / (newest.t - oldest.t)
	rate, climb := float64(w.book.rate), w.climb(n, mean, 0)
	trusted, seen := w.climb(n, mean, w.trusted()), w.climb(n, mean, w.seenSeries())
	if climb < 0.02*rate || climb > 1.5*rate+0.05 || !(trusted > leastGrowth*climb) || !(mean > 0) {
		return math.NaN(), math.NaN()
	}
	return mean / trusted, mean / seen
}

// within is how many readings lie within the last seconds.
func (w *Watch) within(now, seconds float64) (count int) {
	for count < w.ring.n && now-w.ring.at(count).t <= seconds {
		count++
	}
	return count
}

// climb is the slope of the newest n readings of the volts, as a mean current would have
// shown them, without what a series resistance takes, V/s.
func (w *Watch) climb(n int, mean, series float64) float64 {
	var l sums
	for k := range n {
		if s := w.ring.at(k); s.i > 0 {
			film := s.v - w.seenSeries()*s.i
			l.add(s.t, s.v-series*s.i-film/w.law.Softness(w.density(mean))*math.Log(s.i/mean))
		}
	}
	return l.line().slope
}
