package watch

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// Meter is the latest reading of the independent voltmeter. It is worthless unless OK.
type Meter struct {
	OK    bool
	Volts unit.Volts
	T     unit.Seconds // of the reading, since the first energised second
}

// How long the supply's volts and those of the meter must differ, by bounds in volts and as
// a share of which the larger counts.
const (
	disagreeSeconds = 1.0
	gainSeconds     = 5.0
	meterAge        = 2.0 // s, then the meter counts as blind
	longestPause    = 0.5 // s between two readings of the supply, to say what it was in between
)

// crosscheck compares each reading of the voltmeter with what the supply read at the same
// moment. A reading of the meter waits until the supply has readings on both sides of it.
type crosscheck struct {
	supply  [64]setAt // readings of the supply, ring
	n       int
	waiting [8]setAt // readings of the meter that are not judged yet, ring
	in, out int
	taken   float64 // time of the newest reading of the meter
	apart   float64 // since when the two disagree; NaN while they do not
	wide    float64 // since when the gain is in doubt
}

func (x *crosscheck) reset() {
	*x = crosscheck{taken: math.Inf(-1), apart: math.NaN(), wide: math.NaN()}
}

// meter takes a tick: it keeps the readings of both, and judges what can be judged.
func (w *Watch) meter(k Tick) {
	if !w.bench.Voltmeter {
		return
	}
	x, now := &w.cross, float64(k.T)
	if k.OK {
		x.supply[x.n%len(x.supply)] = setAt{now, float64(k.Volts)}
		x.n++
	}
	if t := float64(k.Meter.T); k.Meter.OK && t > x.taken {
		x.taken = t
		x.waiting[x.in%len(x.waiting)] = setAt{t, float64(k.Meter.Volts)}
		x.in++
		x.out = max(x.out, x.in-len(x.waiting))
	}
	if age := now - max(0, x.taken); age > meterAge {
		w.found.add(fault.VoltmeterUnknown, now, "certain", age)
	}
	for x.out < x.in && w.compare(x.waiting[x.out%len(x.waiting)], now) {
		x.out++
	}
}

// lag is how far apart in time the two may show the same volts: both average.
func (w *Watch) lag() float64 {
	return max(float64(w.bench.Settle), float64(w.bench.MeterSettle)) + float64(w.bench.Tick)
}

// compare judges one reading of the meter; false while it is too early for that.
func (w *Watch) compare(m setAt, now float64) bool {
	x, lag := &w.cross, w.lag()
	if x.newest() < m.t+lag {
		return now > m.t+lag+1 // the supply says nothing: there is nothing to compare with
	}
	low, high, known := x.between(m.t-lag, m.t+lag)
	if !known {
		return true
	}
	off := max(0, max(low-m.v, m.v-high))
	level := max(math.Abs(low), math.Abs(high))
	wide := off > max(w.most.GainVolts, w.most.GainShare*level)
	if since(&x.wide, m.t, wide) >= gainSeconds-1e-9 {
		w.found.add(fault.ReadbackGain, x.wide, "certain", m.v, (low+high)/2)
	}
	apart := off > max(w.most.DisagreeVolts, w.most.DisagreeShare*level)
	if since(&x.apart, m.t, apart) >= disagreeSeconds-1e-9 {
		w.found.add(fault.ReadbackDisagrees, x.apart, "certain", m.v, (low+high)/2)
		w.raise(fault.ReadbackDisagrees)
	}
	return true
}

func (x *crosscheck) newest() float64 {
	if x.n == 0 {
		return math.Inf(-1)
	}
	return x.supply[(x.n-1)%len(x.supply)].t
}

// between are the lowest and the highest volts of the supply in a stretch of time, with
// those that lie on the straight lines to its ends. It is not known where the readings
// do not reach over the stretch, or pause in it.
func (x *crosscheck) between(from, to float64) (low, high float64, known bool) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v float64) { low, high = min(low, v), max(high, v) }
	for m := 1; m < min(x.n, len(x.supply)); m++ {
		later, earlier := x.supply[(x.n-m)%len(x.supply)], x.supply[(x.n-m-1)%len(x.supply)]
		if earlier.t >= to {
			continue
		}
		if later.t-earlier.t > longestPause || !(later.t > earlier.t) {
			return 0, 0, false
		}
		slope := (later.v - earlier.v) / (later.t - earlier.t)
		take(earlier.v + slope*(min(to, later.t)-earlier.t))
		take(earlier.v + slope*(max(from, earlier.t)-earlier.t))
		if earlier.t <= from {
			return low, high, true
		}
	}
	return 0, 0, false
}
