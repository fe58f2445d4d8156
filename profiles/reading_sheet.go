package profiles

import (
	"math"

	"anodized/hal/unit"
)

// readingSheet holds the columns of a sheet of readings.
type readingSheet struct {
	volts, end, l, a, b            []float64
	part, spot                     []string
	instrument, geometry, specular []string
	illuminant, observer, date     []string
}

func (d *readingSheet) columns() []column {
	return []column{
		{name: "L", needed: true, to: &d.l, least: 0, most: 100},
		{name: "a", needed: true, to: &d.a, least: -mostChroma, most: mostChroma},
		{name: "b", needed: true, to: &d.b, least: -mostChroma, most: mostChroma},
		{name: "volts", to: &d.volts, least: 0, most: float64(mostReadVolts)},
		{name: "end_ma_cm2", to: &d.end, least: float64(leastEnd), most: float64(mostDensity)},
		{name: "part", words: &d.part},
		{name: "spot", words: &d.spot},
		{name: "instrument", words: &d.instrument},
		{name: "geometry", words: &d.geometry},
		{name: "specular", words: &d.specular},
		{name: "illuminant", words: &d.illuminant},
		{name: "observer", words: &d.observer},
		{name: "date", words: &d.date},
	}
}

// ReadReadingSheet reads our own sheet of readings: a header line with L,a,b and
// optionally volts, end_ma_cm2, part, spot, instrument, geometry, specular,
// illuminant, observer, date, in any order, then at least one row. Without the columns
// illuminant and observer the colours are for D65 and 2 degrees. The error is
// [Mistakes].
func ReadReadingSheet(file string, content []byte) ([]ColourReading, error) {
	var d readingSheet
	s := sheet{report: report{file: file}}
	s.read(content, d.columns(), 1)
	d.check(&s)
	if len(s.mistakes) > 0 {
		return nil, s.err()
	}
	readings := make([]ColourReading, len(d.l))
	for i := range readings {
		readings[i] = d.row(file, s.places[i], i)
	}
	return readings, nil
}

// check looks at what only the whole sheet shows.
func (d *readingSheet) check(s *sheet) {
	if len(d.l) > mostReadings {
		s.sayAt(1, 1, "the file has %d readings; at most %d are read", len(d.l), mostReadings)
	}
	for i, said := range d.specular {
		if said != "" && specularOf(said) == "" && i < len(s.places) {
			s.sayAt(s.places[i], 1, `column specular: %q is neither "included" nor "excluded"`, brief(said))
			return
		}
	}
}

func (d *readingSheet) row(file string, line, i int) ColourReading {
	r := newReading(file, line, 1)
	r.Lab = &[3]float64{d.l[i], d.a[i], d.b[i]}
	r.Volts, r.End = unit.Volts(cellAt(d.volts, i)), unit.CurrentDensity(cellAt(d.end, i))
	r.Part, r.Spot = word(d.part, i), word(d.spot, i)
	r.Conditions = Conditions{
		Instrument: word(d.instrument, i), Geometry: word(d.geometry, i), Specular: specularOf(word(d.specular, i)),
		Illuminant: illuminantOf(word(d.illuminant, i)), Observer: observerOf(word(d.observer, i)), Date: word(d.date, i),
	}
	if d.illuminant == nil { // such a sheet is of our own sight
		r.Illuminant = "D65"
	}
	if d.observer == nil {
		r.Observer = "2"
	}
	return r
}

// cellAt is a cell of a column that the sheet may not have.
func cellAt(column []float64, i int) float64 {
	if column == nil {
		return math.NaN()
	}
	return column[i]
}

func word(column []string, i int) string {
	if column == nil {
		return ""
	}
	return column[i]
}
