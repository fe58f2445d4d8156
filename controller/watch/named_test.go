package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// through is the healthy curve behind a series resistance: the film gets what the current
// leaves of the volts.
func through(p plan.Plan, ohm float64) []watch.Tick {
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1)
	x, amperes, ticks := 1.5, 0.0, curve(p)
	for n := range ticks {
		for range fine {
			x += law.KF * amperes / float64(p.Area) * 0.1 / fine
			amperes = behind(law, p, float64(ticks[n].Volts), x, ohm)
		}
		ticks[n].Amperes = unit.Amperes(amperes)
	}
	return ticks
}

// behind is where the film takes what the resistance leaves: halved until it is known to a
// hundred thousandth of the limit.
func behind(law film.Law, p plan.Plan, volts, nm, ohm float64) float64 {
	low, high := 0.0, volts/ohm
	for high-low > 1e-5*float64(p.CurrentLimit) {
		middle := (low + high) / 2
		if float64(law.Density(unit.Volts(volts-ohm*middle), unit.Nanometres(nm)).At(p.Area)) > middle {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// told runs ticks and tells whether a finding was made, and with which words.
func told(t *testing.T, p plan.Plan, ticks []watch.Tick, code fault.Code) (bool, string) {
	t.Helper()
	w := watch.New(p, bench)
	for _, k := range ticks {
		w.Update(k)
	}
	for _, f := range w.Findings() {
		if f.Code == code {
			require.Len(t, f.Evidence, 1)
			require.NotEmpty(t, f.Action)
			return true, f.Evidence[0]
		}
	}
	return false, ""
}

// Each row of these tables stands just beside its threshold, which profiles/watch.go or the
// detector has.
func TestSeriesResistanceIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		ohm       float64 // where the plan expects 3
		high, low bool
	}{
		"more than 1.7 times": {5.4, true, false},
		"not quite":           {5.0, false, false},
		"as expected":         {3.0, false, false},
		"not quite so little": {1.9, false, false},
		"less than 0.6":       {1.5, false, true},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.Law.Series = 3
			ticks := through(p, c.ohm)
			high, words := told(t, p, ticks, fault.BathResistanceHigh)
			assert.Equal(t, c.high, high, words)
			low, words := told(t, p, ticks, fault.BathResistanceLow)
			assert.Equal(t, c.low, low, words)
		})
	}
}

// drawing is the reference load as it behaves with so many times its area.
func drawing(times float64) []watch.Tick {
	ticks := curve(reference())
	for n := range ticks {
		ticks[n].Amperes *= unit.Amperes(times)
		ticks[n].Limit = 10
	}
	return ticks
}

// The law takes the density of the declared area: a fifth more area reads a hundredth more still.
func TestAreaThatIsNotTheDeclaredOne(t *testing.T) {
	for name, c := range map[string]struct {
		times float64
		book  bool // a calibration from a book does not know this bath
		code  fault.Code
		is    bool
		says  string
	}{
		"less than 0.80":           {0.78, false, fault.AreaOverstated, true, "declared are 200.0 cm2: 0.77 of it"},
		"not quite so little":      {0.82, false, fault.AreaOverstated, false, ""},
		"more than 1.18":           {1.20, false, fault.AreaUnderstated, true, "declared are 200.0 cm2: 1.21 times"},
		"not quite so much":        {1.16, false, fault.AreaUnderstated, false, ""},
		"as much by a book":        {1.27, true, fault.AreaUnderstated, false, ""},
		"more than 1.3 by a book":  {1.33, true, fault.AreaUnderstated, true, "1.35 times"},
		"a small area is no large": {0.78, false, fault.AreaUnderstated, false, ""},
		"nor the other way round":  {1.20, false, fault.AreaOverstated, false, ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.Calibration.Book = c.book
			is, words := told(t, p, drawing(c.times), c.code)
			assert.Equal(t, c.is, is, words)
			assert.Contains(t, words, c.says)
		})
	}
}

// covered draws nothing below the volts that its parts were formed to before.
func covered(volts unit.Volts) []watch.Tick {
	ticks := curve(reference())
	for n := range ticks {
		if ticks[n].Volts < volts {
			ticks[n].Amperes = 0
		}
	}
	return ticks
}

func TestOxideThatWasThereBefore(t *testing.T) {
	for name, c := range map[string]struct {
		formed   unit.Volts // in fact
		declared unit.Volts
		is       bool
	}{
		"seven volts and more": {7.1, 0, true}, // the median of five readings is two behind
		"not quite so many":    {6.7, 0, false},
		"and said so":          {7.1, 7.1, false},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.ContactCheck.FormedVolts = c.declared
			is, words := told(t, p, covered(c.formed), fault.OxideAlreadyPresent)
			assert.Equal(t, c.is, is, words)
		})
	}
}

// atLimit is the curve whose current stands at a share of the limit for some seconds.
func atLimit(share float64, limited bool) []watch.Tick {
	ticks := curve(reference())
	for n := range ticks {
		if k := &ticks[n]; k.T > 40 && k.T < 43 {
			k.Limit, k.Limited = k.Amperes/unit.Amperes(share), limited
		}
	}
	return ticks
}

func TestPaceThatTheLimitSets(t *testing.T) {
	for name, c := range map[string]struct {
		share   float64
		limited bool
		is      bool
	}{
		"at the limit":          {0.98, true, true},
		"not quite":             {0.96, true, false},
		"near it, led by volts": {0.98, false, false},
	} {
		t.Run(name, func(t *testing.T) {
			is, words := told(t, reference(), atLimit(c.share, c.limited), fault.LimitedByCurrent)
			assert.Equal(t, c.is, is, words)
			if is {
				assert.Regexp(t, `^the current limit of 0\.[0-9]+ A set the pace at 4[0-9.]+ V$`, words)
			}
		})
	}
}
