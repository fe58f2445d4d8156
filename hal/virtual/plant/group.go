package plant

import "math"

// Part is one part as it is hung in the bath.
type Part struct {
	Area float64 // cm², wetted
	Film float64 // nm at the start; 0: the native film of the parameters
}

// group is a number of parts that cannot be told apart.
type group struct {
	area    float64 // cm², of all of them
	each    float64 // cm², of one
	film    float64 // nm
	open    bool    // no contact
	contact float64 // ohm in series with each part
	across  float64 // V across the film, last solution
	ionic   float64 // A/cm², last solution
	side    float64 // A/cm², last solution
	share   float64 // V across the film per V of the node, last solution

	start, slope, sum float64 // of the integration
}

const (
	leastFilm     = 0.1   // nm
	mostExponent  = 200.0 // e^200 is far above any current
	sideField     = 5e6   // V/cm at which the side current is given
	sideStiffness = 3e-3  // (cm/V)^0.5, an assumed form
	rootSideField = 2236.06797749979
	nmPerCm       = 1e7    // nm
	settledVolts  = 1e-11  // V, of the inner solution
	innerTries    = 60     // of the inner solution
	tinyOhms      = 1e-9   // ohm, below this a contact is perfect
	voidOhms      = 1e-6   // ohm, the least of a short
	emptyVolts    = 1e-3   // V, below this the output capacitance is empty
	zeroKelvinGap = 0.02   // 1/K, rise of the conductivity of the bath
	thermalCp     = 4184.0 // J/(L K), of water
)

// solve gives the group volts across its films, and returns the derivative of
// its current density (A/cm² V) by them.
func (p *Plant) solve(g *group, volts float64) (slope float64) {
	g.across, g.ionic, g.side = volts, 0, 0
	if volts <= 0 {
		return 0
	}
	i0 := p.parameters.Film.I0
	g.ionic = i0 * expm1(min(p.softness*volts/g.film, mostExponent))
	slope = (g.ionic + i0) * p.softness / g.film
	if p.side > 0 {
		root := math.Sqrt(volts / g.film * nmPerCm)
		g.side = p.sideDensity(root)
		slope += g.side / volts * (1 + 0.5*sideStiffness*root)
	}
	return slope
}

// expm1 is math.Expm1 where that matters, and the faster Exp where it does not.
func expm1(u float64) float64 {
	if u < 1 {
		return math.Expm1(u)
	}
	return math.Exp(u) - 1
}

// sideDensity is the oxygen current (A/cm²) at a field given by its root, (V/cm)^0.5.
func (p *Plant) sideDensity(root float64) float64 {
	field := root * root / sideField
	return p.side * field * math.Exp(min(sideStiffness*(root-rootSideField), mostExponent))
}

// current returns the current of a group (A) and its derivative (A/V) at a node voltage.
func (p *Plant) current(g *group, node float64) (amperes, slope float64) {
	if g.open {
		g.across, g.ionic, g.side, g.share = 0, 0, 0, 0
		return 0, 0
	}
	if g.contact < tinyOhms {
		slope = p.solve(g, node)
		g.share = 1
		return g.area * (g.ionic + g.side), g.area * slope
	}
	return p.throughContact(g, node)
}

// throughContact solves across + contact each j(across) = node for one part.
func (p *Plant) throughContact(g *group, node float64) (amperes, slope float64) {
	low, high := 0.0, max(node, 0)
	v := min(max(g.across, low), high)
	for range innerTries {
		slope = p.solve(g, v)
		g.share = 1 / (1 + g.contact*g.each*slope)
		miss := v + g.contact*g.each*(g.ionic+g.side) - node
		low, high = narrow(low, high, v, miss)
		next := v - miss*g.share
		if next <= low || next >= high {
			next = (low + high) / 2
		}
		if math.Abs(next-v) < settledVolts {
			break
		}
		v = next
	}
	return g.area * (g.ionic + g.side), g.area * slope * g.share
}

// nudge moves the last solution of a group by a little of the node voltage
// without another exponential, and returns its current (A). The exponent may
// change by a hundredth; the series is good to 1e-9 then.
func (p *Plant) nudge(g *group, node float64) (amperes float64) {
	volts := node * g.share
	if g.across <= 0 {
		return 0
	}
	i0 := p.parameters.Film.I0
	g.ionic = (g.ionic+i0)*series(p.softness*volts/g.film) - i0
	if g.side > 0 {
		root := math.Sqrt(g.across / g.film * nmPerCm)
		g.side *= series(volts / g.across * (1 + 0.5*sideStiffness*root))
	}
	g.across += volts
	return g.area * (g.ionic + g.side)
}

func series(e float64) float64 { return 1 + e*(1+e*(0.5+e/6)) }

func narrow(low, high, at, miss float64) (float64, float64) {
	if miss > 0 {
		return low, at
	}
	return at, high
}
