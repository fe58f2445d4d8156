package watch_test

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shorted are readings of a supply at its limit, at a share of the volts that were reached.
func shorted(readings int, ofLimit, ofVolts float64) change {
	return func(n int, k *watch.Tick) {
		if n >= 400 && n < 400+readings {
			k.Volts = unit.Volts(39.8 * ofVolts) // the median of five readings is two behind
			k.Amperes, k.Limited = k.Limit*unit.Amperes(ofLimit), true
		}
	}
}

// fromTheStart stands at the limit for some seconds of the contact check.
func fromTheStart(seconds float64, volts func(t float64) float64) change {
	return func(_ int, k *watch.Tick) {
		if t := float64(k.T); t < seconds+0.05 {
			k.Phase, k.Amperes, k.Limited, k.Volts = watch.PhaseContactCheck, k.Limit, true, unit.Volts(volts(t))
		}
	}
}

func level(volts float64) func(float64) float64 { return func(float64) float64 { return volts } }

func TestShortCircuitIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		change change
		is     bool
	}{
		"volts that no film has":       {shorted(2, 0.96, 0.79), true},
		"one reading of them":          {shorted(1, 0.96, 0.79), false},
		"volts that a film may have":   {shorted(2, 0.96, 0.81), false},
		"not at the limit":             {shorted(2, 0.94, 0.79), false},
		"from the start":               {fromTheStart(0.6, level(1.4)), true},
		"from the start, but not long": {fromTheStart(0.5, level(1.4)), false},
		"from the start, more volts":   {fromTheStart(0.6, level(1.6)), false},
		"from the start, but rising":   {fromTheStart(0.6, func(t float64) float64 { return 0.5 + t }), false},
	} {
		t.Run(name, func(t *testing.T) {
			_, trip, at := seen(t, bench, c.change, until(41))
			assert.Equal(t, c.is, trip == fault.ShortCircuit, "%s at %.1f s", trip, at)
		})
	}
}

// until leaves out all readings from a moment on.
func until(seconds float64) change {
	return func(_ int, k *watch.Tick) { k.OK = k.OK && float64(k.T) < seconds }
}

// sagging are volts of a hold that stay away for some readings, below the current limit.
func sagging(readings int, volts unit.Volts, limited bool) change {
	return func(n int, k *watch.Tick) {
		if n >= 900 && n < 900+readings {
			k.Amperes *= 0.5
			k.Volts, k.Limited = volts, limited
		}
	}
}

func TestSupplyDroopIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		change change
		is     bool
		says   string
	}{
		"volts that stay away":        {sagging(3, 69.2, false), true, "the supply gave 69.20 V where 70.00 V were set, below its current limit; the volts were back after 0.3 s"},
		"not long enough":             {sagging(2, 69.2, false), false, ""},
		"not far enough":              {sagging(3, 69.4, false), false, ""},
		"at the current limit":        {sagging(3, 69.2, true), false, ""},
		"they do not come back":       {sagging(600, 60, false), true, "the supply gave 60.00 V where 70.00 V were set, below its current limit, and has not come back"},
		"it went off, and so it ends": {sagging(600, 0.01, false), true, "the supply gave 0.01 V where 70.00 V were set, below its current limit, and has not come back"},
	} {
		t.Run(name, func(t *testing.T) {
			w, _, _ := seen(t, bench, c.change, lastDigitOfHold)
			is, words := false, ""
			for _, f := range w.Findings() {
				if f.Code == fault.SupplyDroop {
					is, words = true, f.Evidence[0]
				}
			}
			require.Equal(t, c.is, is, words)
			assert.Equal(t, c.says, words)
		})
	}
}

// lastDigitOfHold keeps the volts of a hold from standing still to the last digit.
func lastDigitOfHold(n int, k *watch.Tick) {
	if n < 890 {
		lastDigit(n, k)
	}
}

func TestSupplyNotFollowingIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		change change
		is     bool
	}{
		"two seconds":          {sagging(21, 60, false), true},
		"not quite":            {sagging(20, 60, false), false},
		"not far enough":       {sagging(21, 69.4, false), false},
		"at the current limit": {sagging(21, 60, true), false},
	} {
		t.Run(name, func(t *testing.T) {
			_, trip, at := seen(t, bench, c.change, lastDigitOfHold)
			assert.Equal(t, c.is, trip == fault.SupplyNotFollowing, "%s at %.1f s", trip, at)
		})
	}
}

// TestSlowGrowthAtTheLimitIsNoShort: a sixth of the usual current density, and a third of the
// growth that it makes on the area declared, below the step of the meter for seconds.
func TestSlowGrowthAtTheLimitIsNoShort(t *testing.T) {
	const forms = 1.48 / 6 // V/s
	for name, c := range map[string]struct {
		step, rate float64
		told       float64 // s; 0: it is not
	}{
		"grows, in hundredths": {0.01, 0.33 * forms, 0},
		"grows, in tenths":     {0.1, 0.33 * forms, 0},
		"short, in hundredths": {0.01, 0, 1.2},
		"short, in tenths":     {0.1, 0, 3},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.CurrentDensity, p.CurrentLimit = p.CurrentDensity/6, p.CurrentLimit/6
			w, told := watch.New(p, bench), 0.0
			for n := range 70 {
				s := unit.Seconds(n) / 10
				volts := 0.9 + c.rate*float64(s) + 0.01*float64(n*7%3-1)
				w.Update(watch.Tick{T: s, OK: true, Volts: unit.Volts(c.step * math.Round(volts/c.step)), Amperes: p.CurrentLimit,
					Set: 1 + unit.Volts(s), Limit: p.CurrentLimit, Limited: true, Phase: watch.PhaseContactCheck})
				if w.Trip() == fault.ShortCircuit && told == 0 {
					told = float64(s)
				}
			}
			if c.told == 0 {
				assert.Zero(t, told, "told")
			} else {
				assert.Positive(t, told)
				assert.LessOrEqual(t, told, c.told)
			}
		})
	}
}
