package profiles

import (
	"encoding/json"
	"io"
	"math"
	"slices"
	"strings"

	"anodized/hal/unit"
)

// ColourReading is the colour of one spot as an instrument gave it, with what is
// known of how it was taken. At least one of Lab, XYZ and Spectrum is there. Nothing
// is converted here: whether the numbers are those of D65 and the 2 degree observer
// is for who uses them to see.
type ColourReading struct {
	Part     string              `json:"part,omitempty"` // part, coupon or sample, as it was named
	Spot     string              `json:"spot,omitempty"` // where on it
	Volts    unit.Volts          `json:"-"`              // that made the film; NaN where not known
	End      unit.CurrentDensity `json:"-"`              // at the end of the hold; NaN where not known
	Lab      *[3]float64         `json:"Lab,omitempty"`
	XYZ      *[3]float64         `json:"XYZ,omitempty"` // the white has Y = 100
	Spectrum *Spectrum           `json:"spectrum,omitempty"`
	Error    *StatedError        `json:"stated_error,omitempty"` // nil: the instrument states none
	Conditions
	At Place `json:"-"` // where the file has it
}

// StatedError is how far, in CIEDE2000, what measured says that it may be off: in the
// middle, and at the 95th percentile.
type StatedError struct {
	Median float64 `json:"median_de00"`
	P95    float64 `json:"p95_de00"`
}

// Conditions are how a colour was taken. What was not said is "".
type Conditions struct {
	Instrument string `json:"instrument,omitempty"`
	Geometry   string `json:"geometry,omitempty"`   // "45/0", "d/8", "sphere"
	Specular   string `json:"specular,omitempty"`   // "included" or "excluded"
	Illuminant string `json:"illuminant,omitempty"` // of the numbers, not the lamp inside: "D65"
	Observer   string `json:"observer,omitempty"`   // degrees: "2" or "10"
	Date       string `json:"date,omitempty"`
}

// Spectrum is a reflectance, 1 where all the light comes back. Wavelengths ascend.
type Spectrum struct {
	Nanometres  []float64 `json:"nm"`
	Reflectance []float64 `json:"reflectance"`
}

// Place is where something stands in a file; lines and columns count from 1.
type Place struct {
	File         string
	Line, Column int
}

// Mistake is what is wrong at a place.
func (p Place) Mistake(message string) Mistake {
	return Mistake{File: p.File, Line: p.Line, Column: p.Column, Message: message}
}

// Name is what to call a reading: its part, its spot, or both.
func (r ColourReading) Name() string {
	return strings.TrimSpace(r.Part + " " + r.Spot)
}

// plainReading has the fields of a reading without its methods.
type plainReading ColourReading

type readingJSON struct {
	Volts *unit.Volts          `json:"volts"`
	End   *unit.CurrentDensity `json:"end_ma_cm2"`
	plainReading
}

// MarshalJSON writes what is not known as null.
func (r ColourReading) MarshalJSON() ([]byte, error) {
	out := readingJSON{plainReading: plainReading(r)}
	if !math.IsNaN(float64(r.Volts)) {
		out.Volts = &r.Volts
	}
	if !math.IsNaN(float64(r.End)) {
		out.End = &r.End
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (r *ColourReading) UnmarshalJSON(content []byte) error {
	var in readingJSON
	if err := json.Unmarshal(content, &in); err != nil {
		return err
	}
	*r = ColourReading(in.plainReading)
	r.Volts, r.End = unit.Volts(math.NaN()), unit.CurrentDensity(math.NaN())
	if in.Volts != nil {
		r.Volts = *in.Volts
	}
	if in.End != nil {
		r.End = *in.End
	}
	return nil
}

// OpenReadings reads the colour readings of a file, or of standard input where arg
// is -.
func OpenReadings(arg string, stdin io.Reader) ([]ColourReading, error) {
	content, err := ReadFile(arg, stdin)
	if err != nil {
		return nil, err
	}
	return ReadReadings(arg, content)
}

// ReadReadings reads colour readings, at least one: a sheet of ours (CSV), CGATS.17
// text, or CxF3, whichever it is. The error is [Mistakes].
func ReadReadings(file string, content []byte) ([]ColourReading, error) {
	switch {
	case isCxF(content):
		return ReadCxF(file, content)
	case isCGATS(content):
		return ReadCGATS(file, content)
	}
	return ReadReadingSheet(file, content)
}

// WithVolts demands that each reading says which volts made its film, as a ladder
// needs. The error is [Mistakes].
func WithVolts(readings []ColourReading) error {
	var mistakes Mistakes
	for _, r := range readings {
		if math.IsNaN(float64(r.Volts)) {
			mistakes = append(mistakes, r.At.Mistake(`this reading does not say its volts: give a column "volts", or name the sample by them, such as "45 V"`))
		}
	}
	if len(mistakes) == 0 {
		return nil
	}
	return mistakes[:min(len(mistakes), mostMistakes)]
}

func newReading(file string, line, column int) ColourReading {
	return ColourReading{Volts: unit.Volts(math.NaN()), End: unit.CurrentDensity(math.NaN()), At: Place{file, line, column}}
}

const mostReadVolts unit.Volts = 200

// voltsIn finds the volts that a sample is named by: "45 V", or "spacer 45 V".
func voltsIn(name string) unit.Volts {
	words := strings.Fields(name)
	for _, last := range []int{1, 2} {
		if len(words) < last {
			break
		}
		v, err := unit.ParseWithin(strings.Join(words[len(words)-last:], " "), 0, mostReadVolts)
		if err == nil {
			return v
		}
	}
	return unit.Volts(math.NaN())
}

// The colours that a surface can have; reflectance passes 1 where a polished part
// shines more than the white.
const (
	mostChroma      = 150
	mostXYZ         = 300
	leastReflecting = -0.1
	mostReflecting  = 3
	mostReadings    = 10_000
)

// colour checks three numbers of a reading, Lab or XYZ.
func (r *report) colour(line, column int, what string, v [3]float64, least, most [3]float64) bool {
	for i, value := range v {
		if !(value >= least[i] && value <= most[i]) {
			r.sayAt(line, column, "%s is %g, %g, %g; allowed is %g to %g, %g to %g, %g to %g", what, v[0], v[1], v[2], least[0], most[0], least[1], most[1], least[2], most[2])
			return false
		}
	}
	return true
}

func (r *report) lab(line, column int, v [3]float64) bool {
	return r.colour(line, column, "Lab", v, [3]float64{0, -mostChroma, -mostChroma}, [3]float64{100, mostChroma, mostChroma})
}

func (r *report) xyz(line, column int, v [3]float64) bool {
	return r.colour(line, column, "XYZ", v, [3]float64{}, [3]float64{mostXYZ, mostXYZ, mostXYZ})
}

// observerOf finds the degrees of an observer: "2_Degree", "2 degree", "10°".
func observerOf(text string) string {
	text = strings.Trim(strings.ToLower(text), " _\t")
	number := text[:len(text)-len(strings.TrimLeft(text, "0123456789"))]
	if slices.Contains([]string{"2", "10"}, number) {
		return number
	}
	return brief(text)
}

// illuminantOf takes the name of an illuminant out of its decoration.
func illuminantOf(text string) string {
	text = strings.TrimSpace(text)
	if id := matching(text, IlluminantIDs()); id != "" {
		return id
	}
	return brief(text)
}

// specularOf finds whether the specular beam was measured with the rest.
func specularOf(text string) string {
	text = strings.ToLower(text)
	switch {
	case strings.Contains(text, "exclu"), text == "sce":
		return "excluded"
	case strings.Contains(text, "inclu"), text == "sci":
		return "included"
	}
	return ""
}
