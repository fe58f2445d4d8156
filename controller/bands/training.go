package bands

import (
	"fmt"
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

// pairs are films on metals of the embedded tables. Tantalum's is indicative only, and is
// left out.
var pairs = [][2]string{
	{"TiO2-Siefke", "Ti-Johnson"}, {"TiO2-Siefke", "Ti-Mash"}, {"TiO2-Sarkar", "Ti-Mash"}, {"TiO2-Franta", "Ti-Rakic-BB"},
	{"TiO2-Jolivet-amorphous", "Ti-Palm"}, {"TiO2-Zhukovsky", "Ti-Johnson"},
	{"Nb2O5-Lemarchand", "Nb-Golovashkin-293K"}, {"Nb2O5-Franta", "Nb-Weaver"},
}

// The training films, in nm, to the end of the range of titanium colours.
const (
	thickest = unit.Nanometres(250)
	between  = unit.Nanometres(2)
	greys    = 20
)

// Noise is that of a reading that was fitted for, as a share of white: counts of a chip's
// range, and how well a part is laid twice under it. Our choice.
const Noise = 0.003

// ForShop fits the bands of a sensor to the films and metals of the shop.
func ForShop(of []Band) (*Matrix, error) {
	daylight, err := profiles.Illuminant("D65")
	if err != nil {
		return nil, err
	}
	var samples []Sample
	var white colour.XYZ
	for _, pair := range pairs {
		some, seen, err := films(of, pair, daylight)
		if err != nil {
			return nil, fmt.Errorf("fit a colour sensor: %s on %s: %w", pair[0], pair[1], err)
		}
		samples, white = append(samples, some...), seen
	}
	for k := 1; k <= greys; k++ {
		share := float64(k) / greys
		grey := Sample{Table: "greys", XYZ: colour.XYZ{X: share * white.X, Y: share * white.Y, Z: share * white.Z}}
		for range of {
			grey.Reading = append(grey.Reading, share)
		}
		samples = append(samples, grey)
	}
	return Fit(of, samples, white, Noise)
}

// films are the readings and colours of one film on one metal.
func films(of []Band, pair [2]string, daylight profiles.Light) ([]Sample, colour.XYZ, error) {
	film, err := profiles.OpticalConstants(pair[0])
	if err != nil {
		return nil, colour.XYZ{}, err
	}
	metal, err := profiles.OpticalConstants(pair[1])
	if err != nil {
		return nil, colour.XYZ{}, err
	}
	surface, err := colour.NewSurface(film, metal, profiles.Observer(), daylight, colour.Options{})
	if err != nil {
		return nil, colour.XYZ{}, err
	}
	var samples []Sample
	for d := unit.Nanometres(0); d <= thickest; d += between {
		wavelengths, reflectance := surface.Spectrum(d)
		samples = append(samples, Sample{Table: pair[0] + " on " + pair[1], Reading: Through(of, wavelengths, reflectance), XYZ: surface.XYZ(d)})
	}
	return samples, surface.White(), nil
}

// Through is what each band sees of a spectrum in even steps.
func Through(of []Band, wavelengths []unit.Nanometres, reflectance []float64) []float64 {
	seen := make([]float64, len(of))
	for i, band := range of {
		sum, all := 0.0, 0.0
		for k, nm := range wavelengths {
			x := float64((nm - band.Middle) / band.Width)
			weight := math.Exp2(-4 * x * x)
			sum += weight * reflectance[k]
			all += weight
		}
		seen[i] = sum / all
	}
	return seen
}
