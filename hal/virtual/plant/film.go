package plant

// Film per charge, nm cm²/C, from molar mass, charge per formula unit and density
// (computed independently from CODATA's Faraday constant and IUPAC's weights).
const (
	titaniaPerCharge  = 530.6107 // density of 3.90 g/cm³: McAleer, Peter, J. Electrochem. Soc. 129 (1982) 1252
	niobiaPerCharge   = 631.8639 // density of 4.36 g/cm³, from memory
	tantalaPerCharge  = 572.4834 // density of 8.00 g/cm³, from memory
	thermalRise       = 0.0034   // 1/K, capacitor practice, from memory
	assumedEfficiency = 0.95
	assumedSide       = 0.02 // mA/cm²
)

func film(i0, b, perCharge float64) Film {
	return Film{I0: i0, B: b, KF: perCharge, Efficiency: assumedEfficiency, HighEfficiency: assumedEfficiency,
		SideCurrent: assumedSide, Thermal: thermalRise, Native: 1.5}
}

// Titanium is the central set of constants.
func Titanium() Film { return film(6e-14, 4.5e-6, titaniaPerCharge) }

// Soft is a law whose field depends much on the current.
func Soft() Film { return film(1.2e-10, 3e-6, titaniaPerCharge) }

// Stiff is a law whose field depends little on the current.
func Stiff() Film { return film(3e-17, 6e-6, titaniaPerCharge) }

// Rigid is the stiffest law, as quoted for niobium and tantalum: about 5 % a decade.
func Rigid() Film { return film(5e-24, 9.072e-6, titaniaPerCharge) }

// Niobium is fitted to 2.5 nm/V at 1 mA/cm² (common practice, no source).
func Niobium() Film { return film(1e-24, 1.209e-5, niobiaPerCharge) }

// Tantalum is fitted to 1.65 nm/V at 1 mA/cm² (from memory).
func Tantalum() Film { return film(1e-24, 7.98e-6, tantalaPerCharge) }
