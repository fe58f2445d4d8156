package virtual

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"sync"

	"anodized/hal"
	"anodized/hal/unit"
)

// bands are middle and width at half height of the sensor's bands, nm: typical of a chip of
// eight, from memory of its data sheet.
var bands = [][2]float64{{415, 26}, {445, 30}, {480, 36}, {515, 39}, {555, 39}, {590, 40}, {630, 50}, {680, 52}}

// The optics of the virtual part, constant over the bands (from memory, orders of size
// only): its film without absorption, and its metal.
const (
	filmIndex  = 2.4
	metalIndex = 2.5 + 3.2i
)

// ColourSensor is a virtual colour sensor. Whoever holds it lays something under it; at
// first nothing lies there. SIMULATED.
type ColourSensor struct {
	bench   *Bench
	mu      sync.Mutex
	under   func(nanometres float64) float64 // reflectance, of the white reference 1; nil: nothing
	missing bool
}

// ColourSensor is a sensor of the bench, which reads parts once they are out of the bath.
func (b *Bench) ColourSensor() *ColourSensor { return &ColourSensor{bench: b} }

// LayWhite puts the white reference under the sensor.
func (s *ColourSensor) LayWhite() { s.lay(func(float64) float64 { return 1 }) }

// LayPart puts a part under it, counted from 0, with the film that it has now.
func (s *ColourSensor) LayPart(part int) error {
	films := s.bench.Truth().Film
	if part < 0 || part >= len(films) {
		return fmt.Errorf("part %d: the bench has %d: %w", part, len(films), hal.ErrRange)
	}
	film := films[part]
	s.lay(func(nanometres float64) float64 { return reflectance(film, nanometres) })
	return nil
}

// TakeAway leaves nothing under it.
func (s *ColourSensor) TakeAway() { s.lay(nil) }

// Unplug takes the sensor itself away.
func (s *ColourSensor) Unplug() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.missing = true
}

// Present tells whether the sensor is there.
func (s *ColourSensor) Present(context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.missing {
		return fmt.Errorf("asking the colour sensor: %w: check its cable", hal.ErrGone)
	}
	return nil
}

func (s *ColourSensor) lay(what func(float64) float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.under = what
}

// Measure is one spectrum of what lies under the sensor. Darkness is no reading.
func (s *ColourSensor) Measure(ctx context.Context) (hal.Spectrum, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return hal.Spectrum{}, fmt.Errorf("reading the colour sensor: %w", err)
	}
	if s.missing {
		return hal.Spectrum{}, fmt.Errorf("reading the colour sensor: %w: check its cable", hal.ErrGone)
	}
	if s.under == nil {
		return hal.Spectrum{}, fmt.Errorf("reading the colour sensor: %w: it is dark, lay a part or the white reference under it", hal.ErrNoReading)
	}
	spectrum := hal.Spectrum{At: s.bench.Now()}
	for _, band := range bands {
		spectrum.Nanometres = append(spectrum.Nanometres, unit.Nanometres(band[0]))
		spectrum.Reflectance = append(spectrum.Reflectance, through(band, s.under))
	}
	return spectrum, nil
}

// through is the mean of a reflectance over a band that is a bell of its width.
func through(band [2]float64, reflectance func(float64) float64) float64 {
	const steps = 20
	sum, all := 0.0, 0.0
	for k := -steps; k <= steps; k++ {
		x := 1.5 * float64(k) / steps // widths from the middle
		weight := math.Exp2(-4 * x * x)
		sum += weight * reflectance(band[0]+x*band[1])
		all += weight
	}
	return sum / all
}

// reflectance of a film on its metal, seen straight on: the sum over all reflections in
// one film (Airy's formula, as in any textbook of optics).
func reflectance(film, nanometres float64) float64 {
	phase := cmplx.Exp(complex(0, 4*math.Pi*filmIndex*film/nanometres))
	above := complex((1-filmIndex)/(1+filmIndex), 0)
	below := (filmIndex - metalIndex) / (filmIndex + metalIndex)
	amplitude := (above + below*phase) / (1 + above*below*phase)
	return real(amplitude)*real(amplitude) + imag(amplitude)*imag(amplitude)
}
