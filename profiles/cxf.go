package profiles

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"unicode/utf8"
)

// CxF3, ISO 17972-1: XML with objects that have colour values, each of which names
// the specification (light, observer, geometry, instrument) that it was made by.
// Names of elements and attributes as the published schema has them.

const (
	mostCxFBytes = 16 << 20
	mostCxFDepth = 40
	mostCxFText  = 64 << 10 // of one element
)

// isCxF tells XML whose first element is CxF, whatever its prefix.
func isCxF(content []byte) bool {
	text := strings.TrimLeft(strings.TrimPrefix(string(content[:min(len(content), 4000)]), "\ufeff"), " \t\r\n")
	return strings.HasPrefix(text, "<") && (strings.Contains(text, "<CxF") || strings.Contains(text, ":CxF"))
}

// cxf is a file while it is read.
type cxf struct {
	report
	stack    []element
	objects  []*cxfObject
	specs    map[string]*cxfSpecification
	readings []ColourReading
	created  string // of the whole file
}

// element is an element that is open.
type element struct {
	name       string
	attributes map[string]string
	text       []byte
	at         Place
}

// cxfObject is one thing that was measured.
type cxfObject struct {
	name, created string
	at            Place
	values        []*cxfValue
	tags          map[string]string
}

// cxfValue is one colour of an object. Numbers are those of its elements, or words
// of a spectrum.
type cxfValue struct {
	kind    string
	spec    string
	at      Place
	start   string // wavelength
	step    string
	date    string
	parts   map[string]string
	numbers string
}

// cxfSpecification is how colours were made, and the wavelengths of spectra.
type cxfSpecification struct {
	Conditions
	start, step string
}

// ReadCxF reads the colour readings of a CxF3 file: ColorCIELab, ColorCIEXYZ and
// ReflectanceSpectrum of its objects. An object without these (a wanted device
// colour) is no reading. The error is [Mistakes].
func ReadCxF(file string, content []byte) ([]ColourReading, error) {
	c := &cxf{report: report{file: file}, specs: map[string]*cxfSpecification{}}
	text, ok := c.textWith(content, mostCxFBytes, controlled)
	if !ok {
		return nil, c.err()
	}
	c.walk(xml.NewDecoder(strings.NewReader(text)))
	if len(c.mistakes) == 0 {
		c.collect()
	}
	if len(c.mistakes) > 0 {
		return nil, c.err()
	}
	return c.readings, nil
}

func (c *cxf) walk(d *xml.Decoder) {
	for len(c.mistakes) == 0 {
		line, column := d.InputPos()
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			c.notXML(d, err)
			return
		}
		switch t := t.(type) {
		case xml.StartElement:
			c.open(t, Place{c.file, line, c.characters(line, column)})
		case xml.EndElement:
			c.close()
		case xml.CharData:
			c.text(t, line, column)
		}
	}
}

func (c *cxf) notXML(d *xml.Decoder, err error) {
	line, column := d.InputPos()
	message := err.Error()
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		message = syntax.Msg
	}
	c.sayAt(line, c.characters(line, column), "not readable as XML: %s", message)
}

// characters turns a place in bytes into one in characters, counted from 1.
func (c *cxf) characters(line, column int) int {
	if line < 1 || line > len(c.lines) {
		return max(column, 1)
	}
	text := c.lines[line-1]
	return utf8.RuneCountInString(text[:max(0, min(column-1, len(text)))]) + 1
}

func (c *cxf) open(t xml.StartElement, at Place) {
	e := element{name: t.Name.Local, attributes: map[string]string{}, at: at}
	for _, attribute := range t.Attr {
		e.attributes[attribute.Name.Local] = attribute.Value
	}
	if len(c.stack) == 0 && e.name != "CxF" {
		c.sayAt(at.Line, at.Column, "the first element is %q, not CxF", brief(e.name))
	}
	if len(c.stack) >= mostCxFDepth {
		c.sayAt(at.Line, at.Column, "elements are nested more than %d deep", mostCxFDepth)
	}
	c.stack = append(c.stack, e)
	c.opened(&c.stack[len(c.stack)-1])
}

// opened makes what an element begins.
func (c *cxf) opened(e *element) {
	switch e.name {
	case "Object":
		c.objects = append(c.objects, &cxfObject{name: brief(e.attributes["Name"]), at: e.at, tags: map[string]string{}})
		if len(c.objects) > mostReadings {
			c.sayAt(e.at.Line, e.at.Column, "the file has more than %d objects", mostReadings)
		}
	case "ColorCIELab", "ColorCIEXYZ", "ReflectanceSpectrum":
		c.openValue(e)
	case "Tag":
		if o := c.object(); o != nil {
			o.tags[e.attributes["Name"]] = e.attributes["Value"]
		}
	case "ColorSpecification":
		c.specs[e.attributes["Id"]] = &cxfSpecification{}
	case "WavelengthRange":
		if s := c.specification(); s != nil {
			s.start, s.step = e.attributes["StartWL"], e.attributes["Increment"]
		}
	}
}

func (c *cxf) openValue(e *element) {
	o := c.object()
	if o == nil {
		return // of a profile or a spot colour
	}
	o.values = append(o.values, &cxfValue{
		kind: e.name, spec: e.attributes["ColorSpecification"], at: e.at, date: e.attributes["MeasureDate"],
		start: e.attributes["StartWL"], step: firstOf(e.attributes["Increment"], e.attributes["Interval"]), parts: map[string]string{},
	})
}

// object is the object that is open.
func (c *cxf) object() *cxfObject {
	if c.within("Object") == nil {
		return nil
	}
	return c.objects[len(c.objects)-1]
}

func (c *cxf) specification() *cxfSpecification {
	e := c.within("ColorSpecification")
	if e == nil {
		return nil
	}
	return c.specs[e.attributes["Id"]]
}

// within is the innermost open element of a name.
func (c *cxf) within(name string) *element {
	for i := len(c.stack) - 1; i >= 0; i-- {
		if c.stack[i].name == name {
			return &c.stack[i]
		}
	}
	return nil
}

func (c *cxf) text(data xml.CharData, line, column int) {
	if len(c.stack) == 0 {
		return
	}
	e := &c.stack[len(c.stack)-1]
	if len(e.text)+len(data) > mostCxFText {
		c.sayAt(line, c.characters(line, column), "the text of %s is longer than %d bytes", brief(e.name), mostCxFText)
		return
	}
	e.text = append(e.text, data...)
}

func (c *cxf) close() {
	e := &c.stack[len(c.stack)-1]
	c.closed(e, strings.TrimSpace(string(e.text)))
	c.stack = c.stack[:len(c.stack)-1]
}
