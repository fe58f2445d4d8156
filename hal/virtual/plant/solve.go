package plant

import "math"

// point is one solution of supply and cell.
type point struct {
	film    float64 // V at the node that the films share
	volts   float64 // V at the terminals
	through float64 // A through the films
	amperes float64 // A from the terminals
	limited bool    // the current limit regulates
}

const (
	mostTries     = 200
	smallExponent = 1e-3  // a last step that changes the exponent by less leaves an error of 5e-7 in the current
	leastBracket  = 1e-16 // V
)

// at gives everything that follows from a node voltage, and the derivatives of
// volts and amperes by it.
func (p *Plant) at(node float64) (q point, voltSlope, ampereSlope float64) {
	q.film, p.tried = node, node
	slope := 0.0
	for i := range p.groups {
		a, d := p.current(&p.groups[i], node)
		q.through += a
		slope += d
	}
	q = p.terminals(q)
	voltSlope = 1 + p.series*slope
	_, besideSlope := p.beside(q.volts)
	return q, voltSlope, slope + besideSlope*voltSlope
}

// terminals follows the terminals from the node and the current through the films.
func (p *Plant) terminals(q point) point {
	q.volts = q.film + p.series*q.through + p.parameters.Cell.OffsetVolts
	beside, _ := p.beside(q.volts)
	q.amperes = q.through + beside
	return q
}

// beside is the current that passes the films by (A), and its derivative.
func (p *Plant) beside(volts float64) (amperes, slope float64) {
	amperes, slope = volts*p.leak, p.leak
	if p.foreign > 0 && volts > foreignVolts {
		amperes += (volts - foreignVolts) * p.foreign
		slope += p.foreign
	}
	return amperes, slope
}

// root finds the node voltage in 0..highest where alpha volts + beta amperes =
// gamma, by Newton's method kept inside a bracket. Both grow with the node
// voltage, so there is one root at most; without one the nearer end is returned.
func (p *Plant) root(alpha, beta, gamma, highest float64) point {
	low, high := 0.0, highest
	v := min(max(p.now.film, low), high)
	before := highest
	for range mostTries {
		q, dv, di := p.at(v)
		miss := alpha*q.volts + beta*q.amperes - gamma
		low, high = narrow(low, high, v, miss)
		step := -miss / (alpha*dv + beta*di)
		if p.steepest(v)*math.Abs(step) < smallExponent {
			return p.moved(min(max(step, -v), highest-v))
		}
		if high-low < leastBracket {
			return q
		}
		next := v + step
		if !(next > low && next < high) || math.Abs(2*step) > before {
			next = (low + high) / 2
		}
		before = math.Abs(next - v)
		v = next
	}
	q, _, _ := p.at(v)
	return q
}

// steepest is how fast the exponent of any film, or what the node itself feeds,
// changes with the node voltage (1/V).
func (p *Plant) steepest(node float64) float64 {
	most := 1 / max(node, leastFilm)
	for i := range p.groups {
		most = max(most, p.softness/p.groups[i].film*p.groups[i].share)
	}
	return most
}

// moved is the solution a little beside the last one.
func (p *Plant) moved(step float64) point {
	q := point{film: p.tried + step}
	for i := range p.groups {
		q.through += p.nudge(&p.groups[i], step)
	}
	return p.terminals(q)
}

// regulate is the supply: the largest node voltage at which neither the setpoint
// nor the current limit is exceeded.
func (p *Plant) regulate(set float64) point {
	limit := p.limit
	if p.LimitIgnored {
		limit = math.Inf(1)
	}
	highest := set - p.parameters.Cell.OffsetVolts
	if highest <= 0 {
		return p.idle(set, limit)
	}
	if p.now.limited && !p.LimitIgnored {
		return p.limitFirst(set, limit, highest)
	}
	q := p.root(1, 0, set, highest)
	if q.amperes > limit {
		return p.limited(limit, highest)
	}
	return q
}

// limitFirst tries the regulation of the last solution first.
func (p *Plant) limitFirst(set, limit, highest float64) point {
	q := p.limited(limit, highest)
	if q.volts <= set {
		return q
	}
	q = p.root(1, 0, set, highest)
	if q.amperes > limit {
		return p.limited(limit, highest)
	}
	return q
}

func (p *Plant) limited(limit, highest float64) point {
	q := p.root(0, 1, limit, highest)
	q.limited = true
	return q
}

// idle is a setpoint below the electrode offset: only what lies beside the films conducts.
func (p *Plant) idle(set, limit float64) point {
	p.rest()
	volts := max(set, 0)
	amperes, _ := p.beside(volts)
	if amperes <= limit {
		return point{volts: volts, amperes: amperes}
	}
	return point{volts: volts * limit / amperes, amperes: limit, limited: true}
}

// drain is the output switched off: for h seconds the output capacitance feeds
// the bleed and the cell. Backward Euler, stable for any h.
func (p *Plant) drain(from, h float64) point {
	if from < emptyVolts {
		p.rest()
		return point{}
	}
	c := p.parameters.Output.Farads
	q := p.root(1+h/(c*p.parameters.Output.BleedOhms), h/c, from, from)
	return q
}

// rest is no volts across any film.
func (p *Plant) rest() {
	for i := range p.groups {
		g := &p.groups[i]
		g.across, g.ionic, g.side = 0, 0, 0
	}
}
