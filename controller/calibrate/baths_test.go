package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/unit"
)

// spoil makes one reading wrong, in one of the ways that readings are wrong.
func (b bath) spoil(random *rand.Rand, readings []Reading, i int) (partner int) {
	partner = -1
	switch random.IntN(4) {
	case 0: // the volts were not those
		off := (4 + 6*random.Float64()) * float64(1-2*random.IntN(2))
		readings[i].Lab = b.lab(random, math.Max(1, float64(readings[i].Volts)+off))
	case 1: // another bath, another order
		readings[i].Lab = b.lab(random, 10+90*random.Float64())
	case 2: // typed wrongly
		readings[i].Lab.B = -readings[i].Lab.B + 10
	default: // swapped with its neighbour
		partner = (i + 1) % len(readings)
		readings[i].Lab, readings[partner].Lab = readings[partner].Lab, readings[i].Lab
	}
	return partner
}

type tally struct {
	ladders, within, covered, coveredOffset, spoiled, named, falsely, good, goodWithin int
}

func (c *tally) count(fit Fit, b bath, wrong map[int]bool) {
	c.ladders++
	off := math.Abs(fit.NMPerVolt - b.slope)
	if off < 0.01*b.slope {
		c.within++
	}
	if off <= 2*fit.NMPerVoltSD {
		c.covered++
	}
	if math.Abs(float64(fit.Offset)-b.offset) <= 2*float64(fit.OffsetSD) {
		c.coveredOffset++
	}
	if fit.Verdict == Good {
		c.good++
		if off < 0.01*b.slope {
			c.goodWithin++
		}
	}
	for i, r := range fit.Readings {
		switch {
		case wrong[i]:
			c.spoiled++
			if r.Wrong {
				c.named++
			}
		case r.Wrong:
			c.falsely++
		}
	}
}

func (c *tally) share(part int) float64 { return float64(part) / float64(c.ladders) }

func randomLadders(t *testing.T, seed uint64, volts []float64, spoil func(bath, *rand.Rand, []Reading, int) map[int]bool) (c tally) {
	random, surface := seeded(seed), titanium(t)
	for n := range 300 {
		b := randomBath(random, surface)
		l := ladder(t)
		l.Readings = b.read(random, volts...)
		wrong := spoil(b, random, l.Readings, n)
		fit, err := FitLadder(l)
		require.NoError(t, err)
		c.count(fit, b, wrong)
	}
	return c
}

var testVolts = evenly(12, 100, 8)

// spoilt makes readings wrong that a chooser names; both of a swapped pair are.
func (b bath) spoilt(random *rand.Rand, r []Reading, chosen func(i int) bool) map[int]bool {
	wrong := map[int]bool{}
	for i := range r {
		if wrong[i] || !chosen(i) {
			continue
		}
		wrong[i] = true
		if other := b.spoil(random, r, i); other >= 0 {
			wrong[other] = true
		}
	}
	return wrong
}

// 300 random baths, eight readings each at the designed volts, with a scatter of 0.5
// CIELAB an axis: nm/V within 1 % in 95 of 100, the stated standard deviation honest,
// and what is wrong named in 90 of 100.
func TestLaddersOfRandomBaths(t *testing.T) {
	for _, c := range []struct {
		name  string
		seed  uint64
		named float64
		spoil func(bath, *rand.Rand, []Reading, int) map[int]bool
	}{
		{"all right", 3, 0, func(bath, *rand.Rand, []Reading, int) map[int]bool { return nil }},
		{"one ladder in ten has a wrong reading", 4, 0.9, func(b bath, random *rand.Rand, r []Reading, n int) map[int]bool {
			at := random.IntN(len(r))
			return b.spoilt(random, r, func(i int) bool { return n%10 == 0 && i == at })
		}},
		{"every ladder has a wrong reading", 5, 0.9, func(b bath, random *rand.Rand, r []Reading, n int) map[int]bool {
			at := random.IntN(len(r))
			return b.spoilt(random, r, func(i int) bool { return i == at })
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			found := randomLadders(t, c.seed, designed(t), c.spoil)
			t.Logf("%+v: %s", found, found.words())
			assert.GreaterOrEqual(t, found.share(found.within), 0.95)
			for _, covered := range []int{found.covered, found.coveredOffset} {
				assert.GreaterOrEqual(t, found.share(covered), 0.90)
				assert.LessOrEqual(t, found.share(covered), 0.98)
			}
			assert.GreaterOrEqual(t, float64(found.named), c.named*float64(found.spoiled))
			assert.LessOrEqual(t, found.share(found.falsely), 0.03)
			assert.GreaterOrEqual(t, found.share(found.good), 0.97)
		})
	}
}

// Where each reading is wrong one time in ten, one ladder in ten has three wrong ones of
// eight or more, and is refused: the others hold what they promise.
func TestLaddersWithManyWrongReadings(t *testing.T) {
	found := randomLadders(t, 6, designed(t), func(b bath, random *rand.Rand, r []Reading, _ int) map[int]bool {
		return b.spoilt(random, r, func(int) bool { return random.IntN(10) == 0 })
	})
	t.Logf("%+v: %s", found, found.words())
	assert.GreaterOrEqual(t, found.share(found.within), 0.95)
	assert.GreaterOrEqual(t, float64(found.goodWithin), 0.99*float64(found.good))
	assert.GreaterOrEqual(t, float64(found.named), 0.8*float64(found.spoiled))
}

func designed(t *testing.T) (volts []float64) {
	d, err := Plan(titanium(t), usual)
	require.NoError(t, err)
	for _, v := range d.Volts {
		volts = append(volts, float64(v))
	}
	return volts
}

func (c tally) words() string {
	return fmt.Sprintf("nm/V within 1 %% in %.3f, two sigma hold nm/V in %.3f and the offset in %.3f, %.3f of the wrong ones named, %.3f refused",
		c.share(c.within), c.share(c.covered), c.share(c.coveredOffset), float64(c.named)/math.Max(1, float64(c.spoiled)), 1-c.share(c.good))
}

func TestPathIsTheSurface(t *testing.T) {
	s := titanium(t)
	p := newPath(s, 360)
	worst := 0.0
	for d := 0.0; d < 358; d += 0.37 {
		lab, slope := p.at(d)
		worst = max(worst, lab.minus(vectorOf(s.Lab(unit.Nanometres(d)))).length())
		const little = 1e-4
		if d > 2 {
			by := scaled(p.lab(d+little).minus(p.lab(d-little)), 1/(2*little))
			assert.InDelta(t, 0, slope.minus(by).length(), 1e-5)
		}
	}
	t.Log(worst)
	assert.Less(t, worst, 5e-3)
}

func BenchmarkFitOfTwelve(b *testing.B) {
	l := ladder(b)
	l.Readings = bath{titanium(b), 2.05, 1, 0.5}.read(seeded(1), evenly(10, 110, 12)...)
	for b.Loop() {
		if _, err := FitLadder(l); err != nil {
			b.Fatal(err)
		}
	}
}
