package rack

// Method is how an area was found.
type Method string

// The methods.
const (
	ByRing     Method = "ring"
	ByTube     Method = "tube"
	ByPlate    Method = "plate"
	ByCylinder Method = "cylinder"
	ByDisc     Method = "disc"
	ByPrism    Method = "prism"
	ByMass     Method = "mass"
	ByMesh     Method = "mesh"
	Given      Method = "given"
)

// The relative uncertainties, one standard deviation: our choice, no source. A
// shape is as good as its caliper; an area that was typed in comes from anywhere;
// a weighed part is some 6 % low as soon as it has a few holes, and worse with
// pockets; the wetted length of a hook is judged by eye.
const (
	shapeUncertainty   = 0.01
	givenUncertainty   = 0.05
	massUncertainty    = 0.10
	fixtureUncertainty = 0.10
	// of a roughness factor, as a share of what it adds to the smooth area
	roughnessUncertainty = 0.5
)

func relative(method Method, roughness float64) float64 {
	base := shapeUncertainty
	switch method {
	case Given:
		base = givenUncertainty
	case ByMass:
		base = massUncertainty
	}
	return base + roughnessUncertainty*(roughness-1)/roughness
}
