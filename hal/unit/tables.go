package unit

// The factors are exact by definition: SI prefixes, the minute, the hour and the
// litre after the SI Brochure (9th edition, 2019); inch 25.4 mm, foot 0.3048 m,
// pound 453.59237 g, ounce 1/16 pound, 0 °C = 273.15 K, t/°C = (t/°F - 32)/1.8 and
// ångström 0.1 nm after NIST SP 811 (2008), appendix B.

var voltage = dimension{
	noun: "a voltage", symbol: "V", offer: "V, mV, kV", floor: unbounded,
	units: map[string]scale{"V": one, "mV": milli, "kV": kilo, "uV": micro},
}

var current = dimension{
	noun: "a current", symbol: "A", offer: "A, mA, uA", floor: unbounded,
	units: map[string]scale{"A": one, "mA": milli, "uA": micro},
}

var duration = dimension{
	noun: "a time", symbol: "s", offer: "s, ms, min, h", floor: unbounded,
	units: map[string]scale{"s": one, "ms": milli, "us": micro, "min": {0, 60, 1}, "h": {0, 3600, 1}},
}

var rampRate = dimension{
	noun: "a ramp rate", symbol: "V/s", offer: "V/s, mV/s, V/min", floor: unbounded,
	units: map[string]scale{"V/s": one, "mV/s": milli, "V/min": {0, 1, 60}},
}

var currentDensity = dimension{
	noun: "a current density", symbol: "mA/cm2", offer: "mA/cm2, A/dm2, A/ft2, A/m2", floor: unbounded,
	units: map[string]scale{
		"mA/cm2": one, "uA/cm2": milli, "A/cm2": kilo, "A/dm2": {0, 10, 1}, "mA/dm2": {0, 1, 100},
		"A/m2": {0, 1, 10}, "A/ft2": {0, 1000, 929.0304}, "mA/ft2": {0, 1, 929.0304},
		"A/in2": {0, 1000, 6.4516}, "mA/in2": {0, 1, 6.4516}, "mA/mm2": {0, 100, 1},
	},
}

var area = dimension{
	noun: "an area", symbol: "cm2", offer: "cm2, dm2, mm2, m2, in2, ft2", floor: 0, least: "an area is never negative",
	units: map[string]scale{
		"cm2": one, "dm2": {0, 100, 1}, "mm2": {0, 1, 100}, "m2": {0, 10000, 1},
		"in2": {0, 6.4516, 1}, "ft2": {0, 929.0304, 1},
	},
}

var length = dimension{
	noun: "a length", symbol: "mm", offer: "mm, cm, m, um, in, mil", floor: 0, least: "a length is never negative",
	units: map[string]scale{
		"mm": one, "cm": {0, 10, 1}, "m": kilo, "um": milli, "nm": micro, "angstrom": {0, 1, 1e7},
		"in": {0, 25.4, 1}, "mil": {0, 254, 10000}, "ft": {0, 304.8, 1},
	},
}

// thickness may be negative: the offset of a calibration is one.
var thickness = dimension{
	noun: "a thickness", symbol: "nm", offer: "nm, um, angstrom", floor: unbounded,
	units: map[string]scale{
		"nm": one, "um": kilo, "angstrom": {0, 1, 10}, "mm": {0, 1e6, 1}, "cm": {0, 1e7, 1}, "m": {0, 1e9, 1},
		"in": {0, 25.4e6, 1}, "mil": {0, 25400, 1}, "ft": {0, 304.8e6, 1},
	},
}

var temperature = dimension{
	noun: "a temperature", symbol: "°C", offer: "°C, °F, K (also degC, degF)", floor: -273.15, least: "below absolute zero, -273.15 °C",
	units: map[string]scale{
		"°C": one, "degC": one, "°F": {-32, 5, 9}, "degF": {-32, 5, 9}, "K": {-273.15, 1, 1},
	},
}

var charge = dimension{
	noun: "a charge", symbol: "C", offer: "C, mC, A h", floor: unbounded,
	units: map[string]scale{"C": one, "mC": milli, "uC": micro, "As": one, "Ah": {0, 3600, 1}, "mAh": {0, 36, 10}},
}

var mass = dimension{
	noun: "a mass", symbol: "g", offer: "g, kg, mg, oz, lb", floor: 0, least: "a mass is never negative",
	units: map[string]scale{"g": one, "kg": kilo, "mg": milli, "oz": {0, 28.349523125, 1}, "lb": {0, 453.59237, 1}},
}

var volume = dimension{
	noun: "a volume", symbol: "L", offer: "L, mL", floor: 0, least: "a volume is never negative",
	units: map[string]scale{"L": one, "l": one, "mL": milli, "ml": milli, "cm3": milli, "dm3": one, "m3": kilo},
}

var conductivity = dimension{
	noun: "a conductivity", symbol: "mS/cm", offer: "mS/cm, uS/cm, S/m", floor: 0, least: "a conductivity is never negative",
	units: map[string]scale{"mS/cm": one, "uS/cm": milli, "S/cm": kilo, "S/m": {0, 10, 1}, "mS/m": {0, 1, 100}},
}

var resistance = dimension{
	noun: "a resistance", symbol: "ohm", offer: "ohm, mohm, kohm, Ω", floor: 0, least: "a resistance is never negative",
	units: map[string]scale{"ohm": one, "mohm": milli, "kohm": kilo, "Mohm": {0, 1e6, 1}},
}

var (
	one   = scale{0, 1, 1}
	milli = scale{0, 1, 1000}
	micro = scale{0, 1, 1e6}
	kilo  = scale{0, 1000, 1}
)
