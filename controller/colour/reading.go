package colour

import (
	"fmt"

	"anodized/profiles"
)

// Readings returns the colours of readings as the shop compares them: CIELAB under
// D65 for the 2 degree observer. A reading whose numbers are of another light or
// observer is worked out from its spectrum, and refused where it has none. Notes say
// what was taken for granted. The error is [profiles.Mistakes], all of them.
func Readings(readings []profiles.ColourReading) (labs []Lab, notes []string, err error) {
	s := sight{}
	var mistakes profiles.Mistakes
	for _, r := range readings {
		lab, err := s.see(r)
		if err != nil {
			mistakes = append(mistakes, r.At.Mistake(fmt.Sprintf("reading %q: %v", r.Name(), err)))
		}
		labs = append(labs, lab)
	}
	if len(mistakes) > 0 {
		return nil, nil, mistakes
	}
	return labs, s.notes(), nil
}

// sight is the standard sight, and what it had to do.
type sight struct {
	meter             *Meter
	unsaid, converted int
}

func (s *sight) see(r profiles.ColourReading) (Lab, error) {
	other := otherSight(r.Conditions)
	switch {
	case r.Lab != nil && other == "":
		s.count(r)
		return Lab{L: r.Lab[0], A: r.Lab[1], B: r.Lab[2]}, nil
	case r.Spectrum != nil:
		if other != "" {
			s.converted++
		}
		return s.ofSpectrum(*r.Spectrum)
	case other != "":
		return Lab{}, fmt.Errorf("it was taken for %s, and ours are for D65 and the 2 degree observer: measure it so, or export its spectrum, too", other)
	case r.XYZ != nil:
		s.count(r)
		return s.ofXYZ(XYZ{X: r.XYZ[0], Y: r.XYZ[1], Z: r.XYZ[2]})
	}
	return Lab{}, fmt.Errorf("it has no colour")
}

// count notes a reading that does not say what it was taken for.
func (s *sight) count(r profiles.ColourReading) {
	if r.Illuminant == "" || r.Observer == "" {
		s.unsaid++
	}
}

// otherSight says for what light or observer numbers are, where not for ours.
func otherSight(c profiles.Conditions) string {
	illuminant, observer := c.Illuminant, c.Observer
	if (illuminant == "" || illuminant == "D65") && (observer == "" || observer == "2") {
		return ""
	}
	if illuminant == "" {
		illuminant = "an illuminant that is not said"
	}
	if observer == "" {
		observer = "an unsaid"
	}
	return fmt.Sprintf("%s and the %s degree observer", illuminant, observer)
}

func (s *sight) ofSpectrum(spectrum profiles.Spectrum) (Lab, error) {
	if err := s.open(); err != nil {
		return Lab{}, err
	}
	return s.meter.Lab(spectrum)
}

func (s *sight) ofXYZ(c XYZ) (Lab, error) {
	if err := s.open(); err != nil {
		return Lab{}, err
	}
	return c.Lab(s.meter.white), nil
}

// open reads the tables when they are first needed.
func (s *sight) open() error {
	if s.meter != nil {
		return nil
	}
	daylight, err := profiles.Illuminant("D65")
	if err != nil {
		return err
	}
	s.meter, err = NewMeter(profiles.Observer(), daylight)
	return err
}

func (s *sight) notes() []string {
	var notes []string
	if s.unsaid > 0 {
		notes = append(notes, fmt.Sprintf("%d of the readings do not say their illuminant or observer: taken for D65 and 2 degrees; instruments of the graphic arts give D50", s.unsaid))
	}
	if s.converted > 0 {
		notes = append(notes, fmt.Sprintf("%d of the readings were taken for another light or observer: their colours were worked out from their spectra for D65 and 2 degrees", s.converted))
	}
	return notes
}
