package film

import "math"

// ramp raises the set point to a target at a rate, until the supply's volts are
// there. Once at the current limit the supply stays there to the target: the
// current can only reach the limit where the film's volts rise slower than the set
// point, and at constant current they rise evenly.
func (b *body) ramp(target, rate float64) {
	b.late = false
	step := 1e-3
	for b.set < target {
		if b.set >= b.voltsAtLimit(b.film) {
			b.climbAtLimit(target)
			return
		}
		step = b.climb(target, rate, step)
		b.see()
	}
	b.set = target
}

// climbAtLimit goes to the target at the current limit, exactly.
func (b *body) climbAtLimit(target float64) {
	b.late = true
	b.set = target
	for volts := b.voltsAtLimit(b.film); volts < target; volts = b.voltsAtLimit(b.film) {
		step := min((target-volts)/b.limitRise, b.until())
		b.film += step * b.limitGrowth
		b.heat += step * b.limit * (volts + step*b.limitRise/2)
		b.time += step
		b.limited += step
		b.see()
		if step*b.limitRise <= 1e-12*target {
			return
		}
	}
}

// climb makes one step of the ramp below the current limit and returns the step to
// try next. A step that would pass the limit is cut where it is met.
func (b *body) climb(target, rate, step float64) float64 {
	const tolerance = 1e-9
	left := (target - b.set) / rate
	for {
		h := min(min(step, left), b.until())
		grown, heat, off := b.step(h, rate)
		off /= tolerance * grown
		step = h * min(5, max(0.2, 0.9*math.Pow(off+1e-10, -0.2)))
		if off > 1 {
			continue
		}
		if b.set+rate*h > b.voltsAtLimit(grown) {
			h = b.meetLimit(h, rate)
			grown, heat, _ = b.step(h, rate)
		}
		b.film, b.time, b.heat = grown, b.time+h, b.heat+heat
		b.set += rate * h
		if h == left {
			b.set = target
		}
		return step
	}
}

// meetLimit returns the part of a step after which the current is at the limit.
func (b *body) meetLimit(h, rate float64) float64 {
	low, high := 0.0, h
	for range 50 {
		middle := (low + high) / 2
		if grown, _, _ := b.step(middle, rate); b.set+rate*middle > b.voltsAtLimit(grown) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// The tableau of Dormand and Prince's pair of orders 5 and 4 (J. Comput. Appl.
// Math. 6 (1980) 19).
var (
	stageTime = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	stageMix  = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	fourthOrder = [7]float64{5179. / 57600, 0, 7571. / 16695, 393. / 640, -92097. / 339200, 187. / 2100, 1. / 40}
)

// step returns the film and the heat of a step of constant voltage regulation, and
// how far the two orders of the film are apart.
func (b *body) step(h, rate float64) (film, heat, off float64) {
	var growth, power [7]float64
	for s := range growth {
		film = b.film
		for i := range s {
			film += h * stageMix[s][i] * growth[i]
		}
		volts := b.set + rate*h*stageTime[s]
		density := b.density(film, volts)
		growth[s], power[s] = b.law.growth(density), volts*density*b.area
	}
	lower := b.film
	for s := range growth {
		lower += h * fourthOrder[s] * growth[s]
		if s < 6 {
			heat += h * stageMix[6][s] * power[s]
		}
	}
	return film, heat, math.Abs(film - lower)
}
