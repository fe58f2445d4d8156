package profiles

import (
	"strconv"
	"strings"

	"anodized/hal/unit"
)

// closed takes what an element held.
func (c *cxf) closed(e *element, text string) {
	if s := c.specification(); s != nil {
		s.take(e.name, text)
		return
	}
	o := c.object()
	switch {
	case o == nil && e.name == "CreationDate":
		c.created = brief(text)
	case o == nil:
	case e.name == "CreationDate":
		o.created = brief(text)
	case e.name == "ReflectanceSpectrum":
		o.values[len(o.values)-1].numbers = text
	case len(c.stack) > 1 && len(o.values) > 0:
		if outer := c.stack[len(c.stack)-2].name; outer == "ColorCIELab" || outer == "ColorCIEXYZ" {
			o.values[len(o.values)-1].parts[e.name] = text
		}
	}
}

// take keeps what a specification says. An instrument is its maker, model and number.
func (s *cxfSpecification) take(name, text string) {
	switch name {
	case "Illuminant":
		s.Illuminant = illuminantOf(text)
	case "Observer":
		s.Observer = observerOf(text)
	case "Manufacturer", "Model", "SerialNumber":
		s.Instrument = strings.TrimSpace(s.Instrument + " " + brief(text))
	case "SphereGeometry":
		s.Geometry, s.Specular = "sphere", specularOf(text)
	case "SphereGeometryConfiguration":
		s.Specular = specularOf(text)
	case "IlluminationAngle":
		s.Geometry = brief(text)
	case "MeasurementAngle":
		s.Geometry += "/" + brief(text)
	case "UnknownGeometry":
		s.Geometry = brief(text)
	}
}

// collect makes a reading of each object that has colours.
func (c *cxf) collect() {
	if len(c.objects) == 0 {
		c.sayAt(1, 1, "there is no Object in an ObjectCollection")
		return
	}
	for _, o := range c.objects {
		if len(c.mistakes) >= mostMistakes {
			return
		}
		if len(o.values) > 0 {
			c.readings = append(c.readings, c.reading(o))
		}
	}
	if len(c.readings) == 0 {
		c.sayAt(1, 1, "no Object has a ColorCIELab, a ColorCIEXYZ or a ReflectanceSpectrum")
	}
}

// reading takes of each kind of colour the first, those of D65 and the 2 degree
// observer before others.
func (c *cxf) reading(o *cxfObject) ColourReading {
	r := newReading(c.file, o.at.Line, o.at.Column)
	r.Part = o.name
	r.Volts = voltsIn(o.name)
	c.tagged(o, &r)
	lab, xyz, spectrum := c.best(o, "ColorCIELab"), c.best(o, "ColorCIEXYZ"), c.best(o, "ReflectanceSpectrum")
	for _, v := range []*cxfValue{spectrum, xyz, lab} {
		if v == nil {
			continue
		}
		c.conditionsOf(v, &r)
		r.Date = firstOf(brief(v.date), r.Date)
	}
	r.Date = firstOf(r.Date, o.created, c.created)
	if lab != nil {
		r.Lab = c.numbers(lab, (*report).lab, "L", "A", "B")
	}
	if xyz != nil && c.sameSight(xyz, lab) {
		r.XYZ = c.numbers(xyz, (*report).xyz, "X", "Y", "Z")
	}
	if spectrum != nil && (c.stepOf(spectrum) != "" || (r.Lab == nil && r.XYZ == nil)) {
		r.Spectrum = c.spectrumOf(spectrum) // without a step it says nothing beside Lab or XYZ
	}
	return r
}

// conditionsOf keeps what a value's specification says. Light and observer are those
// of Lab and XYZ; a spectrum has none.
func (c *cxf) conditionsOf(v *cxfValue, r *ColourReading) {
	s := c.specs[v.spec]
	if s == nil {
		return
	}
	said := s.Conditions
	said.Instrument, said.Geometry = firstOf(said.Instrument, r.Instrument), firstOf(said.Geometry, r.Geometry)
	said.Specular, said.Date = firstOf(said.Specular, r.Specular), r.Date
	if v.kind == "ReflectanceSpectrum" {
		said.Illuminant, said.Observer = "", ""
	}
	r.Conditions = said
}

// sameSight tells whether XYZ are of the light and the observer of Lab: a reading has
// one of each.
func (c *cxf) sameSight(xyz, lab *cxfValue) bool {
	if lab == nil || xyz.spec == lab.spec {
		return true
	}
	one, two := c.specs[xyz.spec], c.specs[lab.spec]
	return one != nil && two != nil && one.Illuminant == two.Illuminant && one.Observer == two.Observer
}

func (c *cxf) best(o *cxfObject, kind string) *cxfValue {
	var found *cxfValue
	for _, v := range o.values {
		if v.kind != kind {
			continue
		}
		if s := c.specs[v.spec]; s != nil && s.Illuminant == "D65" && s.Observer == "2" {
			return v
		}
		if found == nil {
			found = v
		}
	}
	return found
}

// tagged takes volts and end density that a tag says.
func (c *cxf) tagged(o *cxfObject, r *ColourReading) {
	if text := o.tags["volts"]; text != "" {
		v, err := unit.ParseNumber(text)
		if err != nil || v < 0 || v > float64(mostReadVolts) {
			c.sayAt(o.at.Line, o.at.Column, "tag volts: %q is not a number from 0 to %v", brief(text), float64(mostReadVolts))
			return
		}
		r.Volts = unit.Volts(v)
	}
	if text := o.tags["end_ma_cm2"]; text != "" {
		j, err := unit.ParseNumber(text)
		if err != nil || j < float64(leastEnd) || j > float64(mostDensity) {
			c.sayAt(o.at.Line, o.at.Column, "tag end_ma_cm2: %q is not a number from %v to %v", brief(text), float64(leastEnd), float64(mostDensity))
			return
		}
		r.End = unit.CurrentDensity(j)
	}
}

func (c *cxf) numbers(v *cxfValue, check func(*report, int, int, [3]float64) bool, names ...string) *[3]float64 {
	var out [3]float64
	for i, name := range names {
		text, there := v.parts[name]
		if !there {
			c.sayAt(v.at.Line, v.at.Column, "%s has no %s", v.kind, name)
			return nil
		}
		value, err := unit.ParseNumber(text)
		if err != nil {
			c.sayAt(v.at.Line, v.at.Column, "%s, %s: %v", v.kind, name, err)
			return nil
		}
		out[i] = value
	}
	if !check(&c.report, v.at.Line, v.at.Column, out) {
		return nil
	}
	return &out
}

// stepOf is the step of a spectrum's wavelengths, as it is written; "" where nobody
// says.
func (c *cxf) stepOf(v *cxfValue) string {
	if s := c.specs[v.spec]; s != nil {
		return firstOf(v.step, s.step)
	}
	return v.step
}

// spectrumOf reads the words of a spectrum. Where neither it nor its specification
// says the step, the schema has none to offer and the step is asked for.
func (c *cxf) spectrumOf(v *cxfValue) *Spectrum {
	start, step := v.start, c.stepOf(v)
	if s := c.specs[v.spec]; s != nil {
		start = firstOf(start, s.start)
	}
	from, err := strconv.ParseFloat(start, 64)
	by, err2 := strconv.ParseFloat(step, 64)
	if err != nil || err2 != nil || !(from >= 100 && from <= 2500) || !(by >= 0.1 && by <= 100) {
		c.sayAt(v.at.Line, v.at.Column, "the spectrum starts at %q nm and rises by %q nm: StartWL and Increment are needed, on it or in the WavelengthRange of its ColorSpecification", brief(start), brief(step))
		return nil
	}
	s := &Spectrum{}
	for i, text := range strings.Fields(v.numbers) {
		value, err := unit.ParseNumber(text)
		if err != nil {
			c.sayAt(v.at.Line, v.at.Column, "value %d of the spectrum: %v", i+1, err)
			return nil
		}
		s.Nanometres, s.Reflectance = append(s.Nanometres, from+float64(i)*by), append(s.Reflectance, value)
	}
	if len(s.Nanometres) < 2 {
		c.sayAt(v.at.Line, v.at.Column, "the spectrum has %d values", len(s.Nanometres))
		return nil
	}
	c.spectral(v.at, *s)
	return s
}
