package watch

import "math"

// sway is the slow noise of the current: gas that gathers on the parts and leaves lasts
// from one reading to the next, so that second differences of readings in a row show half
// of it, and a line over three seconds knows too few of its waves. It is measured by how
// far a reading lies from the middle of two others, each longer ago than a wave lasts,
// in 1/I, which is straight in a ramp and in a hold; and only once it is old enough not to
// be what is being judged.
type sway struct {
	power   float64 // mean square of the relative noise, 1
	n       float64 // readings that the mean is made of
	settled float64 // s, from then on the course is even
	phase   Phase   // of the reading before
	limited bool    // then
}

const (
	swayWave    = 0.6   // s apart: twice as long as a wave of gas lasts
	swayMemory  = 300   // readings that the mean remembers: half a minute
	swayPrior   = 0.008 // believed before any was seen, nearly all that a bath in good order has, as heavy as
	swayWeight  = 8     // readings
	swayMost    = 0.05  // of one reading: more is no noise
	swaySettles = 4.0   // s after a corner of the curve
)

func (y *sway) reset() { *y = sway{power: swayPrior * swayPrior, n: swayWeight} }

// corner says that the course turns here.
func (y *sway) corner(now float64) { y.settled = now + swaySettles }

// relative is the standard deviation of the slow noise, of the current.
func (y *sway) relative() float64 { return math.Sqrt(y.power) }

// swing is the detector's share of a tick.
func (w *Watch) swing(k Tick) {
	y, now := &w.sway, float64(k.T)
	if k.Phase != y.phase || k.Limited != y.limited || now == w.pause.ended || math.IsNaN(w.onset) || w.moved(w.ring.at(0).v) {
		y.phase, y.limited = k.Phase, k.Limited
		y.corner(now)
		return
	}
	per := int(math.Round(swayWave / max(0.1, float64(w.bench.Tick))))
	first := int(math.Round(judgedAfter / max(0.1, float64(w.bench.Tick))))
	if w.ring.n <= first+2*per {
		return
	}
	a, b, c := w.ring.at(first+2*per), w.ring.at(first+per), w.ring.at(first)
	if a.t < y.settled || min(a.i, min(b.i, c.i)) <= 0 {
		return
	}
	share := (b.t - a.t) / (c.t - a.t)
	course := (1-share)/a.i + share/c.i
	miss := min(math.Abs(course*b.i-1), swayMost)
	y.n = min(y.n+1, swayMemory)
	y.power += (miss*miss/(1+share*share+(1-share)*(1-share)) - y.power) / y.n
}
