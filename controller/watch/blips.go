package watch

import "math"

// blips finds readings of the current that leave its course for a moment and come
// back: downward where a contact opens, upward where a film sparks. The course is
// followed by a level and its slope, and stands still while a reading is outside.
type blips struct {
	t, level  float64 // s, A
	rate      float64 // 1/s, relative slope of the level
	least     float64 // band where the noise allows
	power     float64 // mean square of the relative misses, 1
	n         float64 // readings that the mean is made of
	sign      int     // of the excursion that is on, 0 for none
	since     float64 // when it began
	top       float64 // A, the most of it
	disturbed bool    // the volts moved meanwhile: it says nothing of the load
	armed     float64 // s, nothing is told before
	downs     moments
	ups       moments
	calm      float64 // V of the last reading at which the volts did not fall
	paced     float64 // at the current limit since; NaN while not
}

// The thresholds of a blip.
const (
	blipSigmas  = 6    // of the scatter about the course, learned over 20 s
	blipSteps   = 2.5  // of the reading: course and reading are each half a step off
	longestBlip = 0.9  // s, with the lag of the meter; what lasts longer is a change, which others judge
	blipsArm    = 2    // s after a corner of the curve, which the course takes to turn
	courseGain  = 0.3  // share of a miss that the level takes over, and
	courseTurn  = 0.05 // the slope: an alpha-beta filter, beta = alpha^2/(2 - alpha)
	priorMiss   = 0.01 // scatter believed before any was seen, as heavy as
	priorWeight = 20   // readings
)

func (b *blips) reset(least float64) {
	*b = blips{least: least, t: math.NaN(), since: math.NaN(), paced: math.NaN(), power: priorMiss * priorMiss, n: priorWeight}
}

// corner begins the course anew where the curve may turn; the scatter is kept.
func (b *blips) corner(t, i float64) {
	b.t, b.level, b.rate, b.sign, b.since, b.armed = t, i, 0, 0, math.NaN(), t+blipsArm
}

// push takes a reading. It returns the sign of an excursion that is over and was
// short, 0 for none. Disturbed: the volts are not where they were.
func (b *blips) push(t, i, step float64, disturbed bool) (over int) {
	if math.IsNaN(b.t) || t-b.t > 1 || !(b.level > 0) {
		b.corner(t, i)
		return 0
	}
	dt := t - b.t
	course := b.level * (1 + b.rate*dt)
	b.t = t
	if !(course > 0) {
		b.corner(t, i)
		return 0
	}
	miss, band := i/course-1, max(b.band(), blipSteps*step/course)
	if t >= b.armed {
		b.learn(miss, band)
	}
	return b.turn(course, miss, band, dt, disturbed)
}

// band is how far a reading may be from the course, relative.
func (b *blips) band() float64 { return max(b.least, blipSigmas*math.Sqrt(b.power)) }

// learn takes a miss into the scatter. One outside the band counts as at its edge:
// a saw-tooth that stays becomes known within seconds, a spark does not.
func (b *blips) learn(miss, band float64) {
	miss = min(math.Abs(miss), band)
	b.n = min(b.n+1, memory)
	b.power += (miss*miss - b.power) / b.n
}

// turn moves the course and tells of an excursion that ended.
func (b *blips) turn(course, miss, band, dt float64, disturbed bool) (over int) {
	side := 0
	if math.Abs(miss) > band {
		side = int(math.Copysign(1, miss))
	}
	if b.sign != 0 && side != b.sign {
		over = b.ended(disturbed)
	}
	if side == 0 {
		b.sign, b.since = 0, math.NaN()
		b.level = course * (1 + courseGain*miss)
		b.rate += courseTurn * miss / max(dt, 0.02)
		return over
	}
	if side != b.sign {
		b.sign, b.since, b.disturbed, b.top = side, b.t, false, 0
	}
	b.disturbed, b.top = b.disturbed || disturbed, max(b.top, course*(1+miss))
	b.level = course
	if b.t-b.since > longestBlip+0.1 {
		b.corner(b.t, course*(1+miss))
	}
	return over
}

func (b *blips) ended(disturbed bool) int {
	if disturbed || b.disturbed || b.t < b.armed || b.t-b.since > longestBlip+1e-9 {
		return 0
	}
	return b.sign
}

// moments are when the last few of something happened.
type moments struct {
	t [8]float64
	n int
}

func (m *moments) push(t float64) {
	m.t[m.n%len(m.t)] = t
	m.n++
}

// lately is how many of them, at most eight, lie within the last seconds.
func (m *moments) lately(now, seconds float64) (count int) {
	for k := range min(m.n, len(m.t)) {
		if now-m.t[k] <= seconds+1e-9 {
			count++
		}
	}
	return count
}
