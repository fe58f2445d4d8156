package profiles

import "slices"

// Curve is a recorded curve: one row a reading. A column that the file does not
// have is nil; a cell of an optional column that is empty is NaN, no reading.
type Curve struct {
	Seconds []float64 // ascending strictly
	Volts   []float64
	Amperes []float64
	Set     []float64 // set_volts
	Limit   []float64 // limit_amperes
	Bath    []float64 // bath_c
	Metered []float64 // metered_volts, of an independent voltmeter

	Simulated bool // a row says so in the column simulated
}

// ReadCurve reads a curve: a header line with t_s,volts,amperes and optionally
// set_volts, limit_amperes, bath_c, metered_volts, simulated (1 in each row of a virtual
// bench), then at least two rows. The error is [Mistakes].
func ReadCurve(file string, content []byte) (Curve, error) {
	var c Curve
	var simulated []float64
	s := sheet{report: report{file: file}}
	s.read(content, []column{
		{name: "t_s", needed: true, to: &c.Seconds, least: -86400, most: 1e7, ascends: true},
		{name: "volts", needed: true, to: &c.Volts, least: -1000, most: 1000},
		{name: "amperes", needed: true, to: &c.Amperes, least: -1000, most: 1000},
		{name: "set_volts", to: &c.Set, least: -1000, most: 1000},
		{name: "limit_amperes", to: &c.Limit, least: -1000, most: 1000},
		{name: "bath_c", to: &c.Bath, least: -50, most: 150},
		{name: "metered_volts", to: &c.Metered, least: -1000, most: 1000},
		{name: "simulated", to: &simulated, least: 0, most: 1},
	}, 2)
	c.Simulated = slices.ContainsFunc(simulated, func(v float64) bool { return v > 0 })
	return c, s.err()
}
