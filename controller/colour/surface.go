package colour

import (
	"fmt"
	"math"

	"anodized/controller/optics"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Options are how a surface is looked at, and how its film differs from its table.
type Options struct {
	AngleDegrees float64 // of incidence, from 0 to below 90
	StepNM       int     // of the sums, 5 or 1; 0 is 5
	IndexScale   float64 // of the film's n, from a calibration; 0 is 1
	// Daylight is D65, the white of screens. It is needed where the surface is
	// under another illuminant: its screen colours are then adapted.
	Daylight *profiles.Light
}

// Surface is a film on a metal under one illuminant and angle, with all worked out
// but the thickness. It does not change and may be shared.
type Surface struct {
	coats       []optics.Coat // by wavelength
	weights     []weight
	middle      optics.Coat // at 550 nm, for the order
	white       XYZ
	screenWhite XYZ
	step        int
}

const middleNM = 550

// NewSurface works out a surface from the tables of its film and metal.
func NewSurface(film, substrate profiles.Table, o profiles.ColourMatching, i profiles.Light, opts Options) (*Surface, error) {
	opts, err := opts.complete()
	if err != nil {
		return nil, fmt.Errorf("colour of %s on %s: %w", film.ID, substrate.ID, err)
	}
	for _, table := range []profiles.Table{film, substrate} {
		if err := checkColumns(table.Nanometres, table.N, table.K); err != nil {
			return nil, fmt.Errorf("colour of %s on %s: table %q %w", film.ID, substrate.ID, table.ID, err)
		}
	}
	s, err := newSurface(film, substrate, o, i, opts)
	if err != nil {
		return nil, fmt.Errorf("colour of %s on %s: %w", film.ID, substrate.ID, err)
	}
	return s, nil
}

func newSurface(film, substrate profiles.Table, o profiles.ColourMatching, i profiles.Light, opts Options) (*Surface, error) {
	all, err := weights(o, i, opts.StepNM)
	if err != nil {
		return nil, err
	}
	s := &Surface{white: whiteOf(all), step: opts.StepNM, coats: make([]optics.Coat, len(all)), weights: all}
	if s.screenWhite, err = daylight(s.white, o, i, opts); err != nil {
		return nil, err
	}
	angle := opts.AngleDegrees * math.Pi / 180
	coat := func(nm unit.Nanometres) optics.Coat {
		n := optics.IndexAt(film, nm)
		n = complex(real(n)*opts.IndexScale, imag(n))
		return optics.NewCoat(optics.Air, n, optics.IndexAt(substrate, nm), nm, angle)
	}
	for k := range all {
		s.coats[k] = coat(unit.Nanometres(firstNM + k*opts.StepNM))
	}
	s.middle = coat(middleNM)
	return s, nil
}

func (o Options) complete() (Options, error) {
	if o.StepNM == 0 {
		o.StepNM = 5
	}
	if o.IndexScale == 0 {
		o.IndexScale = 1
	}
	if err := checkStep(o.StepNM); err != nil {
		return o, err
	}
	if !(o.AngleDegrees >= 0 && o.AngleDegrees < 90) {
		return o, fmt.Errorf("angle of incidence is %g degrees, it is from 0 to below 90", o.AngleDegrees)
	}
	if !(o.IndexScale >= 0.5 && o.IndexScale <= 2) {
		return o, fmt.Errorf("the film's index is scaled by %g, it is from 0.5 to 2", o.IndexScale)
	}
	return o, nil
}

// daylight returns the white of D65 in the steps of the surface.
func daylight(white XYZ, o profiles.ColourMatching, i profiles.Light, opts Options) (XYZ, error) {
	if i.ID == "D65" {
		return white, nil
	}
	if opts.Daylight == nil {
		return XYZ{}, fmt.Errorf("under illuminant %q the screen's illuminant D65 is needed too", i.ID)
	}
	return White(o, *opts.Daylight, opts.StepNM)
}

// White returns the white that the surface is seen against.
func (s *Surface) White() XYZ { return s.white }

// XYZ returns the tristimulus values of a film of d, at or above 0.
func (s *Surface) XYZ(d unit.Nanometres) XYZ {
	var sum XYZ
	for k := range s.coats {
		r, w := s.coats[k].Reflectance(d), &s.weights[k]
		sum.X += w.x * r
		sum.Y += w.y * r
		sum.Z += w.z * r
	}
	return sum
}

// Lab returns the colour of a film of d.
func (s *Surface) Lab(d unit.Nanometres) Lab { return s.XYZ(d).Lab(s.white) }

// Labs writes the colours of films of even steps, from one of from, at or above 0, on:
// what [Surface.Lab] gives for each, to 1e-9, in a quarter of the time.
func (s *Surface) Labs(from, step unit.Nanometres, labs []Lab) {
	sweep, r := optics.NewSweep(s.coats, from, step), make([]float64, len(s.coats))
	for row := range labs {
		sweep.Next(r)
		labs[row] = s.sum(r).Lab(s.white)
	}
}

// sum weighs the reflectances of a spectrum.
func (s *Surface) sum(r []float64) XYZ {
	var x, y, z float64
	weights := s.weights[:len(r)]
	for k, share := range r {
		w := &weights[k]
		x += w.x * share
		y += w.y * share
		z += w.z * share
	}
	return XYZ{x, y, z}
}

// Spectrum returns the wavelengths of the sums in nm, and the share of light of each
// that comes back from a film of d.
func (s *Surface) Spectrum(d unit.Nanometres) (wavelengths []unit.Nanometres, reflectance []float64) {
	for k := range s.coats {
		wavelengths = append(wavelengths, unit.Nanometres(firstNM+k*s.step))
		reflectance = append(reflectance, s.coats[k].Reflectance(d))
	}
	return wavelengths, reflectance
}

// Screen returns a film of d as a screen shows it.
func (s *Surface) Screen(d unit.Nanometres) Screen { return s.OnScreen(s.XYZ(d)) }

// SRGB returns a film of d as #rrggbb, and whether the screen can show it; if not it
// is clipped.
func (s *Surface) SRGB(d unit.Nanometres) (hex string, inGamut bool) {
	screen := s.Screen(d)
	return screen.Hex(), screen.InGamut
}

// OnScreen returns tristimulus values under the surface's illuminant as a screen
// shows them.
func (s *Surface) OnScreen(c XYZ) Screen { return c.Adapted(s.white, s.screenWhite).Screen() }

// FromScreen returns the colour that looks under the surface's illuminant as a
// screen's colour does.
func (s *Surface) FromScreen(c Screen) Lab {
	return c.XYZ().Adapted(s.screenWhite, s.white).Lab(s.white)
}

// Order returns the interference order of a film of d, by the light of 550 nm: 1 up
// to the first thickness at which film and metal reflect together, then one more
// for each half wave in the film.
func (s *Surface) Order(d unit.Nanometres) int { return s.middle.Order(d) }
