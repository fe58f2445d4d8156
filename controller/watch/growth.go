package watch

import "math"

// growth are the four unknowns of the balance, followed by a filter (R. E. Kalman, J.
// Basic Eng. 82 (1960) 35), whose covariance says how well they are known.
type growth struct {
	x     [4]float64    // z V, b V/C, R ohm, a 1
	p     [4][4]float64 // their covariance
	first [4]float64    // as they were expected
	one   float64       // A, I1; 0 before the first reading
	slow  float64       // ln(I/I1), some seconds behind
	q, t  float64       // C, s of the newest reading that they know
	joins float64       // since when more is drawn than they explain; NaN while not
}

// What is expected of the four, relative.
const (
	filmSD     = 1.0   // V, of the first thickness
	areaSD     = 0.4   // what a coulomb makes: area and efficiency
	seriesSD   = 0.5   // the series resistance, as a bath is known
	softnessSD = 0.3   // known films
	driftsZ    = 0.005 // V, per root of a second, of the thickness
	drifts     = 0.002 // the same of the other three: heat moves them by less

	joined   = 1.0  // s of drawing more, that are other film and no spark
	outlier  = 4.0  // standard deviations that one reading may be worth: a dip or a spark teaches nothing
	shortGap = 0.32 // s, longer than a late tick
	gapVolts = 3.0  // V/s

	leastOfRamp  = 0.02 // of I1: below it the law of the ramp is too far away
	evenSeconds  = 0.8  // s; gas knows nothing of itself so much later
	evenMost     = 3    // scatters
	slowSeconds  = 3.0
	mostForetold = 1.5
	paceSD       = 0.06 // of what a coulomb makes, for each e-fold of the current: what dissolves or passes the film takes its share by time, not by charge
	moves        = 0.04 // ln I against the slow one: only a current that changes tells a and R
)

// least and most of the four, times what was expected: what lies beyond is not theirs.
var leastOfGrowth, mostOfGrowth = [4]float64{1: 0.1, 2: 0, 3: 0.4}, [4]float64{1: 10, 2: 6, 3: 2.5}

func sq(x float64) float64 { return x * x }

func (g *growth) begin(s *sample, one, series, softness, perCoulomb float64) {
	l := math.Log(max(s.i, leastOfRamp*one) / one)
	z := max(0.5, s.v-series*s.i) / max(0.2, 1+l/softness)
	*g = growth{x: [4]float64{z, perCoulomb, series, 1 / softness}, one: one, slow: l, q: s.q, t: s.t, joins: math.NaN()}
	g.first = g.x
	g.p[0][0] = sq(filmSD)
	g.p[1][1] = sq(areaSD * perCoulomb)
	g.p[2][2] = sq(seriesSD*series + 0.03/one)
	g.p[3][3] = sq(softnessSD / softness)
}

// whole are the volts by which the loss of the whole current would be told at once, in
// the slope of the law: film, bath and leads.
func (g *growth) whole(amperes float64) float64 { return g.x[3]*g.x[0] + g.x[2]*amperes }

// part is what the loss of a part is told by, for all parts: the film's answer at once, and
// what it grows in a second.
func (g *growth) part(amperes float64) float64 {
	return g.x[3]*g.x[0] + g.x[1]*amperes*growthJudged
}

// row is what a reading has more than the growth explains, V, and the derivatives of the
// explained by the four.
func (g *growth) row(s *sample) (miss float64, h [4]float64) {
	l, dq := g.foldsOf(s.i), s.q-g.q
	z, bend := g.x[0]+g.x[1]*dq, 1+g.x[3]*l
	return g.missing(s.v, s.i, l, s.q), [4]float64{bend, bend * dq, s.i, l * z}
}

// foldsOf is ln(I/I1).
func (g *growth) foldsOf(amperes float64) float64 { return math.Log(amperes / g.one) }

// missing is what a reading has more than the growth explains, V; l is foldsOf its current.
func (g *growth) missing(v, i, l, q float64) float64 {
	return v - g.x[2]*i - (1+g.x[3]*l)*(g.x[0]+g.x[1]*(q-g.q))
}

// foretold are the derivatives at the current that the growth foretells for these volts:
// a current that fell says nothing against what was known before.
func (g *growth) foretold(s *sample, h [4]float64) [4]float64 {
	more := max(-mostForetold, min(mostForetold, s.miss/g.whole(s.i))) // of ln I
	z := g.x[0] + g.x[1]*(s.q-g.q)
	bend := h[0] + g.x[3]*more
	return [4]float64{bend, bend * (s.q - g.q), s.i * math.Exp(more), h[3] + more*z}
}

// unsure is the variance of a row, V².
func (g *growth) unsure(h [4]float64) float64 {
	total := 0.0
	for k := range 4 {
		total += h[k] * (g.p[k][0]*h[0] + g.p[k][1]*h[1] + g.p[k][2]*h[2] + g.p[k][3]*h[3])
	}
	return total
}

// to brings thickness and covariance to the charge and time of a reading.
func (g *growth) to(s *sample) {
	dt, dq := s.t-g.t, s.q-g.q
	g.x[0] += g.x[1] * dq
	for k := range 4 {
		g.p[0][k] += dq * g.p[1][k]
	}
	for k := range 4 {
		g.p[k][0] += dq * g.p[k][1]
	}
	g.q, g.t = s.q, s.t
	g.p[0][0] += sq(driftsZ) * dt
	if dt > shortGap { // what flowed in it was not seen
		g.p[0][0] += sq(unseenShare*g.x[1]*dq + gapVolts*max(0, dt-longestGap))
	}
	for k := 1; k < 4; k++ {
		g.p[k][k] += sq(drifts*g.first[k]) * dt
	}
}

// take works a reading in. Even is its current without its own noise.
func (g *growth) take(s *sample, even, noise float64) {
	l, dt := math.Log(even/g.one), s.t-g.t
	g.to(s)
	miss, _ := g.row(s)
	turn := (l - g.slow) * min(1, dt/slowSeconds)
	g.slow += turn
	g.p[1][1] += sq(paceSD*g.first[1]) * max(0, turn)
	n := 2
	if math.Abs(l-g.slow) > moves {
		n = 4
	}
	g.correct([4]float64{1 + g.x[3]*l, 0, even, l * g.x[0]}, miss, noise, n)
	for k := 1; k < 4; k++ {
		if least, most := leastOfGrowth[k]*g.first[k], mostOfGrowth[k]*g.first[k]; g.x[k] < least {
			g.pin(k, least)
		} else if g.x[k] > most {
			g.pin(k, most)
		}
	}
}

// correct moves the first n of the four by what a reading has more than explained; the
// others only count as not known.
func (g *growth) correct(h [4]float64, miss, noise float64, n int) {
	var ph, gain [4]float64
	total := noise
	for k := range 4 {
		ph[k] = g.p[k][0]*h[0] + g.p[k][1]*h[1] + g.p[k][2]*h[2] + g.p[k][3]*h[3]
		total += h[k] * ph[k]
	}
	most := outlier * math.Sqrt(total)
	if since(&g.joins, g.t, miss < -most) >= joined {
		g.another(miss)
	}
	miss = max(-most, min(most, miss))
	for k := range n {
		gain[k] = ph[k] / total
		g.x[k] += gain[k] * miss
	}
	for k := range 4 {
		for m := range 4 {
			g.p[k][m] += gain[k]*gain[m]*total - gain[k]*ph[m] - ph[k]*gain[m]
		}
	}
}

// another takes what is drawn for that of other film: a part that regained its contact, or
// a path beside the film. How much of it there is, and how thick, is not known.
func (g *growth) another(miss float64) {
	g.p[0][0] += sq(miss)
	g.p[1][1] += sq(areaSD * g.first[1])
	g.joins = math.NaN()
}

// pin takes one of the four for what it must be at least or at most, and moves the others
// with it.
func (g *growth) pin(n int, value float64) {
	row := g.p[n]
	if !(row[n] > 0) {
		g.x[n] = value
		return
	}
	by := (value - g.x[n]) / row[n]
	for k := range 4 {
		g.x[k] += row[k] * by
		for m := range 4 {
			g.p[k][m] -= row[k] * row[m] / row[n]
		}
	}
	for k := range 4 { // exactly: what rounding leaves of it would be divided by itself
		g.p[n][k], g.p[k][n] = 0, 0
	}
	g.x[n] = value
}
