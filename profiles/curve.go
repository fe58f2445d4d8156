package profiles

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
}

// ReadCurve reads a curve: a header line with t_s,volts,amperes and optionally
// set_volts, limit_amperes, bath_c, metered_volts, then at least two rows. The error is [Mistakes].
func ReadCurve(file string, content []byte) (Curve, error) {
	var c Curve
	s := sheet{report: report{file: file}}
	s.read(content, []column{
		{name: "t_s", needed: true, to: &c.Seconds, least: -86400, most: 1e7, ascends: true},
		{name: "volts", needed: true, to: &c.Volts, least: -1000, most: 1000},
		{name: "amperes", needed: true, to: &c.Amperes, least: -1000, most: 1000},
		{name: "set_volts", to: &c.Set, least: -1000, most: 1000},
		{name: "limit_amperes", to: &c.Limit, least: -1000, most: 1000},
		{name: "bath_c", to: &c.Bath, least: -50, most: 150},
		{name: "metered_volts", to: &c.Metered, least: -1000, most: 1000},
	}, 2)
	return c, s.err()
}

// Readings are the colours of a ladder: one row a coupon.
type Readings struct {
	Volts   []float64
	L, A, B []float64 // CIELAB, D65, 2 degree observer
	End     []float64 // end_ma_cm2, nil where not given
	Spot    []string  // nil where not given
}

// ReadReadings reads the colours of a ladder: a header line with volts,L,a,b and
// optionally end_ma_cm2, spot, then at least one row. The error is [Mistakes].
func ReadReadings(file string, content []byte) (Readings, error) {
	var d Readings
	s := sheet{report: report{file: file}}
	s.read(content, []column{
		{name: "volts", needed: true, to: &d.Volts, least: 0, most: 200},
		{name: "L", needed: true, to: &d.L, least: 0, most: 100},
		{name: "a", needed: true, to: &d.A, least: -150, most: 150},
		{name: "b", needed: true, to: &d.B, least: -150, most: 150},
		{name: "end_ma_cm2", to: &d.End, least: float64(leastEnd), most: float64(mostDensity)},
		{name: "spot", words: &d.Spot},
	}, 1)
	return d, s.err()
}
