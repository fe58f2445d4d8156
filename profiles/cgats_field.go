package profiles

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"anodized/hal/unit"
)

// cgatsFields is where what we read stands in a set; -1 where it does not.
type cgatsFields struct {
	id, name, volts, end int
	lab, xyz             [3]int
	bands                []cgatsBand
	unsaid               bool // whether the spectra are shares or per cent
	first                int  // reading of this table
}

// cgatsBand is one wavelength of a spectrum. Its nanometres are in the name of its
// field, or in the field before it (nmField).
type cgatsBand struct {
	nm          float64
	nmField, at int
	whole       float64 // what all the light coming back reads: 1 or 100
}

func (f *cgatsFields) coloured() bool {
	return f.lab[0] >= 0 || f.xyz[0] >= 0 || len(f.bands) > 0
}

func (c *cgats) fieldsOf(format []cgatsWord) *cgatsFields {
	names := make([]string, len(format))
	for i, field := range format {
		names[i] = strings.ToUpper(field.text)
	}
	at := func(wanted ...string) int {
		return slices.IndexFunc(names, func(name string) bool { return contains(wanted, name) })
	}
	f := &cgatsFields{
		id: at("SAMPLE_ID", "SAMPLEID"), name: at("SAMPLE_NAME"), volts: at("VOLTS", "VOLTAGE"), end: at("END_MA_CM2"),
		lab: c.three(format, at, "LAB_L", "LAB_A", "LAB_B"), xyz: c.three(format, at, "XYZ_X", "XYZ_Y", "XYZ_Z"),
		first: len(c.readings),
	}
	for i, name := range names {
		if band, ok := bandOf(names, i, name); ok {
			f.bands = append(f.bands, band)
			f.unsaid = f.unsaid || band.whole == 0
		}
	}
	return f
}

// three finds the places of a colour's numbers; one without the others is a mistake.
func (c *cgats) three(format []cgatsWord, at func(...string) int, names ...string) [3]int {
	found := [3]int{at(names[0]), at(names[1]), at(names[2])}
	if least, most := slices.Min(found[:]), slices.Max(found[:]); least < 0 && most >= 0 {
		c.sayAt(format[most].line, format[most].column, "the data format has %s without the other two of %s", format[most].text, strings.Join(names, ", "))
	}
	return found
}

// bandOf knows SPECTRAL_NM followed by SPECTRAL_PCT or SPECTRAL_DEC, as the standard
// has it, and fields that have the wavelength in their name, as most files do.
func bandOf(names []string, i int, name string) (cgatsBand, bool) {
	if i > 0 && names[i-1] == "SPECTRAL_NM" {
		switch name {
		case "SPECTRAL_PCT":
			return cgatsBand{nmField: i - 1, at: i, whole: 100}, true
		case "SPECTRAL_DEC":
			return cgatsBand{nmField: i - 1, at: i, whole: 1}, true
		}
	}
	for _, form := range []struct {
		prefix string
		whole  float64
	}{{"SPECTRAL_NM", 0}, {"SPECTRAL_PCT", 100}, {"SPECTRAL_DEC", 1}, {"SPECTRAL", 0}, {"SPEC", 0}, {"NM", 0}} {
		digits, ok := strings.CutPrefix(name, form.prefix)
		nm, err := strconv.Atoi(strings.TrimPrefix(digits, "_"))
		if ok && err == nil && nm >= 100 && nm <= 2500 {
			return cgatsBand{nm: float64(nm), nmField: -1, at: i, whole: form.whole}, true
		}
	}
	return cgatsBand{}, false
}

// number reads a value of the set.
func (c *cgats) number(at int) float64 {
	word := c.row[at]
	value, err := unit.ParseNumber(word.text)
	if err != nil {
		c.sayAt(word.line, word.column, "%s: %v", c.format[at].text, err)
	}
	return value
}

func (c *cgats) reading() ColourReading {
	f, first := c.fields, c.row[0]
	r := newReading(c.file, first.line, first.column)
	r.Conditions = c.conditions()
	r.Part = c.sampleName()
	r.Volts = c.volts(r.Part)
	if f.end >= 0 {
		r.End = unit.CurrentDensity(c.within(f.end, float64(leastEnd), float64(mostDensity)))
	}
	if f.lab[0] >= 0 {
		lab := [3]float64{c.number(f.lab[0]), c.number(f.lab[1]), c.number(f.lab[2])}
		if r.Lab = &lab; len(c.mistakes) == 0 {
			c.lab(c.row[f.lab[0]].line, c.row[f.lab[0]].column, lab)
		}
	}
	if f.xyz[0] >= 0 {
		xyz := [3]float64{c.number(f.xyz[0]), c.number(f.xyz[1]), c.number(f.xyz[2])}
		if r.XYZ = &xyz; len(c.mistakes) == 0 {
			c.xyz(c.row[f.xyz[0]].line, c.row[f.xyz[0]].column, xyz)
		}
	}
	if len(f.bands) > 0 {
		r.Spectrum = c.spectrum()
	}
	return r
}

// within reads a value that has bounds.
func (c *cgats) within(at int, least, most float64) float64 {
	value := c.number(at)
	if value < least || value > most {
		word := c.row[at]
		c.sayAt(word.line, word.column, "%s: %q is out of range; allowed is %s to %s", c.format[at].text, brief(word.text), withUnit(least, ""), withUnit(most, ""))
	}
	return value
}

func (c *cgats) sampleName() string {
	for _, at := range []int{c.fields.name, c.fields.id} {
		if at >= 0 && c.row[at].text != "" {
			return brief(c.row[at].text)
		}
	}
	return ""
}

func (c *cgats) volts(name string) unit.Volts {
	if at := c.fields.volts; at >= 0 {
		return unit.Volts(c.within(at, 0, float64(mostReadVolts)))
	}
	return voltsIn(name)
}

func (c *cgats) spectrum() *Spectrum {
	var s Spectrum
	for _, band := range c.fields.bands {
		nm := band.nm
		if band.nmField >= 0 {
			nm = c.number(band.nmField)
		}
		value := c.number(band.at)
		if band.whole > 0 {
			value /= band.whole
		}
		s.Nanometres, s.Reflectance = append(s.Nanometres, nm), append(s.Reflectance, value)
	}
	return s.sorted()
}

// sorted puts the wavelengths in order.
func (s Spectrum) sorted() *Spectrum {
	order := make([]int, len(s.Nanometres))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.Nanometres[a], s.Nanometres[b]) })
	out := &Spectrum{make([]float64, len(order)), make([]float64, len(order))}
	for to, from := range order {
		out.Nanometres[to], out.Reflectance[to] = s.Nanometres[from], s.Reflectance[from]
	}
	return out
}

// scaleSpectra makes shares of the spectra of a table. Where the fields do not say
// whether they are shares or per cent, the brightest value of the table does: no
// surface sends back twice the light of the white, and no metal less than two parts
// in a hundred at every wavelength.
func (c *cgats) scaleSpectra() {
	if c.fields == nil || len(c.mistakes) > 0 {
		return
	}
	table := c.readings[c.fields.first:]
	whole := 1.0
	if c.fields.unsaid && brightest(table) > 2 {
		whole = 100
	}
	for _, r := range table {
		if r.Spectrum != nil {
			c.scaleSpectrum(r, whole)
		}
	}
	c.fields.first = len(c.readings)
}

func brightest(readings []ColourReading) float64 {
	most := 0.0
	for _, r := range readings {
		if r.Spectrum != nil {
			most = max(most, slices.Max(r.Spectrum.Reflectance))
		}
	}
	return most
}

func (c *cgats) scaleSpectrum(r ColourReading, whole float64) {
	for i := range r.Spectrum.Reflectance {
		r.Spectrum.Reflectance[i] /= whole
	}
	c.spectral(r.At, *r.Spectrum)
}

// spectral checks a spectrum.
func (r *report) spectral(at Place, s Spectrum) {
	for i, nm := range s.Nanometres {
		switch value := s.Reflectance[i]; {
		case !(nm >= 100 && nm <= 2500):
			r.sayAt(at.Line, at.Column, "a wavelength is %g nm; allowed is 100 nm to 2500 nm", nm)
		case i > 0 && nm <= s.Nanometres[i-1]:
			r.sayAt(at.Line, at.Column, "the wavelength %g nm stands twice", nm)
		case !(value >= leastReflecting && value <= mostReflecting):
			r.sayAt(at.Line, at.Column, "the reflectance at %g nm is %g of the white's; allowed is %g to %d", nm, value, leastReflecting, mostReflecting)
		default:
			continue
		}
		return
	}
}

// conditions are what the keywords say of how the colours were taken.
func (c *cgats) conditions() Conditions {
	said := func(words ...string) string {
		for _, word := range words {
			if value := c.keywords[word]; value != "" {
				return brief(value)
			}
		}
		return ""
	}
	source, weights := c.keywords["MEASUREMENT_SOURCE"], c.keywords["WEIGHTING_FUNCTION"]
	return Conditions{
		Instrument: said("INSTRUMENTATION"), Date: said("CREATED"),
		Geometry:   said("MEASUREMENT_GEOMETRY"),
		Specular:   specularOf(said("MEASUREMENT_GEOMETRY", "SPECULAR")),
		Illuminant: illuminantOf(firstOf(said("ILLUMINANT", "ILLUMINATION_NAME"), after(weights, "ILLUMINANT,"), after(source, "Illumination="))),
		Observer:   observerOf(firstOf(said("OBSERVER", "OBSERVER_ANGLE"), after(weights, "OBSERVER,"), after(source, "ObserverAngle="))),
	}
}

func firstOf(texts ...string) string {
	for _, text := range texts {
		if text != "" {
			return text
		}
	}
	return ""
}

// after is the word that follows a mark in a text.
func after(text, mark string) string {
	_, rest, found := strings.Cut(text, mark)
	words := strings.FieldsFunc(rest, func(r rune) bool { return strings.ContainsRune(" \t,;", r) })
	if !found || len(words) == 0 {
		return ""
	}
	return words[0]
}
