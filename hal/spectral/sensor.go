package spectral

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/unit"
)

// Band is one channel: its middle and its width at half height.
type Band struct{ Middle, Width unit.Nanometres }

// Bands are those of the chip, F1 to F8: typical values of its data sheet, from memory.
var Bands = [8]Band{{415, 26}, {445, 30}, {480, 36}, {515, 39}, {555, 39}, {590, 40}, {630, 50}, {680, 52}}

// MostAge is how long references hold: a lamp warms up and fades. Our choice.
const MostAge = 4 * time.Hour

// Options say how the sensor is fitted.
type Options struct {
	Bus       i2c.Bus
	Milliamps int              // through the lamp, 4 to 258, even
	Gain      int              // 1 to 512, a power of two
	White     float64          // share of light that the white reference gives back, 0.5 to 1
	Now       func() time.Time // nil: the clock
}

// Sensor satisfies hal.ColourSensor and hal.Referenced. Its methods may be called from
// several goroutines.
type Sensor struct {
	bus   i2c.Bus
	lamp  byte
	gain  byte
	white float64
	now   func() time.Time

	mu        sync.Mutex
	dark, lit *counts // references; nil: not taken
	taken     time.Time
}

type counts [len(Bands)]float64

// New checks the options; it sends nothing.
func New(o Options) (*Sensor, error) {
	gain := -1
	for step := range 10 {
		if 1<<step == o.Gain {
			gain = step + 1 // 0 is a half
		}
	}
	switch {
	case o.Bus == nil:
		return nil, errors.New("colour sensor: no bus was given")
	case o.Milliamps < 4 || o.Milliamps > 258 || o.Milliamps%2 != 0:
		return nil, fmt.Errorf("colour sensor: %d mA through the lamp: 4 to 258, even, are possible", o.Milliamps)
	case gain < 0:
		return nil, fmt.Errorf("colour sensor: gain %d: 1, 2, 4, ... 512 are possible", o.Gain)
	case !(o.White >= 0.5 && o.White <= 1):
		return nil, fmt.Errorf("colour sensor: the white reference gives back %g: 0.5 to 1 is possible", o.White)
	}
	s := &Sensor{bus: o.Bus, lamp: byte((o.Milliamps - 4) / 2), gain: byte(gain), white: o.White, now: o.Now}
	if s.now == nil {
		s.now = time.Now
	}
	return s, nil
}

// Present proves that the chip is there, and the one that is meant.
func (s *Sensor) Present(context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	number, err := s.byteOf(id)
	if err == nil && number>>2 != partNumber {
		err = fmt.Errorf("%w: it says that it is %02X, not %02X: another chip answers", hal.ErrGone, number>>2, partNumber)
	}
	if err != nil {
		return fmt.Errorf("colour sensor: %w", err)
	}
	return nil
}

// TakeDark takes the dark reference: the lamp on, and nothing under the sensor that gives
// light back.
func (s *Sensor) TakeDark(ctx context.Context) error {
	return s.take(ctx, "dark", func(c counts) error {
		s.dark, s.lit = &c, nil
		return nil
	})
}

// leastWhite is what each band must have of the range on the white reference: less is known
// to few counts. Our choice.
const leastWhite = 0.02

// TakeWhite takes the white reference, after the dark one.
func (s *Sensor) TakeWhite(ctx context.Context) error {
	return s.take(ctx, "white", func(c counts) error {
		if s.dark == nil {
			return fmt.Errorf("%w: take the dark reference first", hal.ErrNoReading)
		}
		for i, count := range c {
			if count-s.dark[i] < leastWhite*mostCount {
				return fmt.Errorf("%w: the white reference gives %g counts at %g nm, %g in the dark: lay it under the sensor, or give the lamp more current", hal.ErrNoReading, count, float64(Bands[i].Middle), s.dark[i])
			}
		}
		s.lit, s.taken = &c, s.now()
		return nil
	})
}

func (s *Sensor) take(ctx context.Context, which string, keep func(counts) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	c, err := s.measure(ctx)
	if err == nil {
		err = keep(c)
	}
	if err != nil {
		return fmt.Errorf("colour sensor: %s reference: %w", which, err)
	}
	return nil
}

func (s *Sensor) forget() { s.dark, s.lit = nil, nil }

// darkest is the share of the white reference below which nothing lies under the sensor in
// any band: the darkest film on metal has some band above it. Our choice.
const darkest = 0.02

// Measure is one spectrum of what lies under the sensor.
func (s *Sensor) Measure(ctx context.Context) (hal.Spectrum, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	spectrum, err := s.spectrum(ctx)
	if err != nil {
		return hal.Spectrum{}, fmt.Errorf("colour sensor: %w", err)
	}
	return spectrum, nil
}

func (s *Sensor) spectrum(ctx context.Context) (hal.Spectrum, error) {
	switch {
	case s.dark == nil || s.lit == nil:
		return hal.Spectrum{}, fmt.Errorf("%w: take the dark and the white reference first", hal.ErrNoReading)
	case s.now().Sub(s.taken) > MostAge:
		return hal.Spectrum{}, fmt.Errorf("%w: its references are older than %v: take both again", hal.ErrNoReading, MostAge)
	}
	dark, lit := *s.dark, *s.lit
	c, err := s.measure(ctx)
	if err != nil {
		return hal.Spectrum{}, err
	}
	out := hal.Spectrum{At: s.now()}
	brightest := 0.0
	for i, count := range c {
		share := (count - dark[i]) / (lit[i] - dark[i]) * s.white
		brightest = max(brightest, share)
		out.Nanometres = append(out.Nanometres, Bands[i].Middle)
		out.Reflectance = append(out.Reflectance, share)
	}
	if brightest < darkest {
		return hal.Spectrum{}, fmt.Errorf("%w: it is dark: lay a part or the white reference under it", hal.ErrNoReading)
	}
	return out, nil
}
