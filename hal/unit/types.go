package unit

// The quantities. Each is a float64 in the unit that its comment names.
type (
	Volts             float64 // V
	Amperes           float64 // A
	Seconds           float64 // s
	VoltsPerSecond    float64 // V/s
	CurrentDensity    float64 // mA/cm²
	SquareCentimetres float64 // cm²
	Millimetres       float64 // mm, the dimensions of parts
	Nanometres        float64 // nm, the thickness of films
	Celsius           float64 // °C
	Coulombs          float64 // C
	Grams             float64 // g
	Litres            float64 // L
	Conductivity      float64 // mS/cm
	Ohms              float64 // Ω
)

// Quantity is any of the types of this package.
type Quantity interface {
	Volts | Amperes | Seconds | VoltsPerSecond | CurrentDensity | SquareCentimetres |
		Millimetres | Nanometres | Celsius | Coulombs | Grams | Litres | Conductivity | Ohms
}

// At returns the current that flows through an area at this density.
func (j CurrentDensity) At(area SquareCentimetres) Amperes {
	return Amperes(float64(j) * float64(area) / 1000)
}

// Over returns the density of a current over an area. The area must be positive.
func (i Amperes) Over(area SquareCentimetres) CurrentDensity {
	return CurrentDensity(float64(i) * 1000 / float64(area))
}
