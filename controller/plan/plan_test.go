package plan_test

import (
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

var update = flag.Bool("update", false, "rewrite the golden plans")

// starter is a request made of embedded starters.
func starter(t require.TestingT, profile, rack string) plan.Request {
	var r plan.Request
	var err error
	r.Profile, err = profiles.OpenProfile(profile, nil)
	require.NoError(t, err)
	r.Rack, err = profiles.OpenRack(rack, nil)
	require.NoError(t, err)
	r.Metal, err = profiles.OpenMetal(r.Profile.Metal, nil)
	require.NoError(t, err)
	r.Bath, err = profiles.OpenBath(r.Profile.Bath, nil)
	require.NoError(t, err)
	r.Calibration, err = profiles.OpenCalibration(r.Metal.Book, nil)
	require.NoError(t, err)
	r.Surface = surfaceOf(t, r.Calibration)
	return r
}

func surfaceOf(t require.TestingT, c profiles.Calibration) *colour.Surface {
	oxide, err := profiles.OpticalConstants(c.Film)
	require.NoError(t, err)
	metal, err := profiles.OpticalConstants(c.Substrate)
	require.NoError(t, err)
	daylight, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	surface, err := colour.NewSurface(oxide, metal, profiles.Observer(), daylight, colour.Options{IndexScale: c.Index()})
	require.NoError(t, err)
	return surface
}

func purple(t require.TestingT) plan.Request {
	return starter(t, "second-order purple", "six headset spacers with hooks")
}

func build(t require.TestingT, r plan.Request) plan.Plan {
	made, err := plan.Build(r)
	require.NoError(t, err)
	return made
}

// Six spacers on six hooks, 168.07 cm2: figures computed independently.
func TestNumbersOfARack(t *testing.T) {
	r := purple(t)
	r.Profile.Ramp = 0.8
	r.Calibration.EndCurrentDensity = 0.15 // as the profile ends: nothing to convert
	p := build(t, r)
	assert.InEpsilon(t, 168.07, float64(p.Area), 1e-4)
	assert.InEpsilon(t, 0.840, float64(p.CurrentLimit), 1e-3)
	assert.InEpsilon(t, 0.0252, float64(p.End.Current), 1e-3, "on the declared area, hooks and all")
	assert.Equal(t, unit.Volts(70), p.TargetVolts)
	assert.Equal(t, 6, p.Parts)
	assert.InEpsilon(t, 24.976, float64(p.SmallestPart), 1e-4)
	assert.Len(t, p.Stages, 1)
	assert.Equal(t, p.End, p.Stages[0].End)
	assert.InEpsilon(t, 1.5+1.97*70, float64(p.Expected.Thickness), 1e-12)
}

func TestCurrentOfARamp(t *testing.T) { // 2.7633 mA/cm2 at 0.8 V/s, computed independently
	r := purple(t)
	r.Profile.Ramp = 0.8
	p := build(t, r)
	assert.InEpsilon(t, 0.464, float64(p.Expected.RampCurrent), 2e-3)
	assert.InEpsilon(t, 2.7633, float64(p.Expected.RampDensity), 2e-3)
}

// The film is reckoned for the profile's own end: less current at the end makes
// more film for the same volts, by the softnesses of the law.
func TestConversionToTheProfilesEnd(t *testing.T) {
	r := purple(t)
	p := build(t, r)
	law := film.FromGrowth(r.Metal.Growth)
	want := 1.5 + 1.97*law.Softness(0.5)/law.Softness(0.15)*70
	assert.InEpsilon(t, want, float64(p.Expected.Thickness), 1e-9)
	assert.InDelta(t, 147.1, want, 0.1)
	assert.Contains(t, codes(p), plan.CalibrationOtherEnd)
	// a volt across the film holds as many nanometres as the calibration says
	scaled := film.New(p.Law.I0, p.Law.B, p.Law.KF, p.Law.Efficiency)
	assert.InEpsilon(t, 1.97, scaled.NMPerVolt(0.5), 1e-12)
}

func TestCeiling(t *testing.T) {
	for _, c := range []struct{ target, given, want unit.Volts }{
		{70, 72, 72}, {70, 0, 70.7}, {30, 0, 30.5}, {110, 0, 111.1},
	} {
		r := purple(t)
		r.Profile.Target.Volts, r.Profile.Ceiling = c.target, c.given
		assert.InDelta(t, float64(c.want), float64(build(t, r).CeilingVolts), 1e-12)
	}
}

func TestSeriesResistanceGoesWithTheArea(t *testing.T) {
	r := purple(t)
	p := build(t, r)
	assert.InEpsilon(t, float64(r.Bath.Series)*200, float64(p.Law.Series)*float64(p.Area), 1e-12)
}

func TestBathWindow(t *testing.T) {
	r := purple(t)
	r.Bath.LeastTemp, r.Bath.MostTemp, r.Bath.Temperature = 15, 40, 20
	assert.Equal(t, plan.BathWindow{Law: 20, Least: 15, Most: 25}, build(t, r).BathWindow)
	r.Calibration.Temperature = 30
	assert.Equal(t, plan.BathWindow{Law: 30, Least: 25, Most: 35}, build(t, r).BathWindow)
}

func TestTargets(t *testing.T) {
	volts := build(t, purple(t))
	byThickness := purple(t)
	byThickness.Profile.Target = profiles.Target{Thickness: volts.Expected.Thickness}
	byHex := purple(t)
	byHex.Profile.Target = profiles.Target{Hex: volts.Expected.Hex}
	byLab := purple(t)
	byLab.Profile.Target = profiles.Target{Lab: &volts.Expected.Lab}
	for name, r := range map[string]plan.Request{"thickness": byThickness, "screen's colour": byHex, "Lab": byLab} {
		p := build(t, r)
		assert.InDelta(t, 70, float64(p.TargetVolts), 0.1, name)
		assert.NotContains(t, codes(p), plan.ColourNotReachable, name)
	}
}

func TestTimedHold(t *testing.T) {
	r := purple(t)
	r.Profile.End = profiles.End{Time: 60}
	r.Profile.Target = profiles.Target{Thickness: 140}
	p := build(t, r)
	assert.InDelta(t, 140, float64(p.Expected.Thickness), 0.05)
	assert.Equal(t, unit.Seconds(60), p.Expected.HoldSeconds)
	assert.Equal(t, "complete", p.Expected.Outcome)
	assert.Equal(t, unit.Seconds(60), p.End.Time)
	longer := r
	longer.Profile.End = profiles.End{Time: 300}
	assert.Less(t, build(t, longer).TargetVolts, p.TargetVolts, "a longer hold needs fewer volts")
}

func TestTimeRunsOut(t *testing.T) {
	r := purple(t)
	whole := build(t, r)
	r.Profile.End.LongestHold = 20
	p := build(t, r)
	assert.Equal(t, "time-ran-out", p.Expected.Outcome)
	assert.Equal(t, unit.Seconds(20), p.Expected.HoldSeconds)
	assert.Less(t, p.Expected.Thickness, whole.Expected.Thickness-1, "a thinner film is expected, and said")
	assert.Contains(t, codes(p), plan.HoldWillRunOut)
}

func TestLongestHoldWhereNoneIsGiven(t *testing.T) {
	r := purple(t)
	r.Profile.End.LongestHold = 0
	p := build(t, r)
	assert.GreaterOrEqual(t, float64(p.End.LongestHold), 180.0)
	r.Profile.End.CurrentDensity = 0.005
	p = build(t, r)
	assert.Equal(t, unit.Seconds(900), p.End.LongestHold)
	assert.Equal(t, "time-ran-out", p.Expected.Outcome)
}

func TestLeastHoldOutlastsTheCriterion(t *testing.T) {
	r := purple(t)
	plain := build(t, r)
	r.Profile.End.LeastHold = 170
	p := build(t, r)
	assert.Equal(t, unit.Seconds(170), p.Expected.HoldSeconds)
	assert.Greater(t, p.Expected.Thickness, plain.Expected.Thickness+1)
}

func TestLimitedByCurrent(t *testing.T) {
	r := purple(t)
	free := build(t, r)
	r.Profile.CurrentDensity = 1.6
	p := build(t, r)
	assert.True(t, p.Expected.LimitedByAmps)
	assert.Contains(t, codes(p), plan.LimitedByCurrent)
	assert.Greater(t, p.Expected.RampSeconds, free.Expected.RampSeconds+30)
	assert.GreaterOrEqual(t, float64(p.Stages[0].LongestRamp), float64(p.Expected.RampSeconds)+60)
	assert.Equal(t, p.CurrentLimit, p.Expected.RampCurrent)
}

// The eight spacers at 0.32 A climb at 0.44 V/s, some 160 s to 70 V.
func TestPaceOfASmallSupply(t *testing.T) {
	r := starter(t, "second-order purple", "eight headset spacers")
	r.Rack.Fixture = nil
	r.Supply.HighestAmperes = 0.32
	p := build(t, r)
	assert.Equal(t, unit.Amperes(0.32), p.CurrentLimit)
	assert.Subset(t, codes(p), []string{plan.LimitedBySupply, plan.LimitedByCurrent})
	assert.InDelta(t, 160, float64(p.Expected.RampSeconds), 10)
}

func TestContactCheck(t *testing.T) {
	for name, c := range map[string]struct{ target, formed, want unit.Volts }{
		"a usual target":   {70, 0, 8},
		"a low target":     {10, 0, 6},
		"a formed rack":    {90, 70, 78},
		"a small step up":  {75, 70, 73},
		"the same again":   {70, 70, 70},
		"just at 8 and .6": {13.5, 0, 8},
	} {
		r := purple(t)
		r.Profile.Target.Volts, r.Profile.Ceiling, r.Rack.FormedTo = c.target, 0, c.formed
		p := build(t, r)
		check := p.ContactCheck
		assert.InDelta(t, float64(c.want), float64(check.Volts), 1e-9, name)
		assert.Equal(t, c.formed, check.FormedVolts, name)
		assert.Equal(t, unit.VoltsPerSecond(0.5), check.Ramp, name)
		assert.Greater(t, float64(check.NoContact), 0.0, name)
		assert.GreaterOrEqual(t, float64(check.LongestCheck), float64(check.Volts)/0.5+60-1e-9, name)
	}
	slow := purple(t)
	slow.Profile.Ramp = 0.2
	assert.Equal(t, unit.VoltsPerSecond(0.2), build(t, slow).ContactCheck.Ramp, "never faster than the ramp")
}

// A bare rack draws a twentieth of its ramp current with one part of twenty on it.
func TestNoContactOfABareRack(t *testing.T) {
	r := purple(t)
	p := build(t, r)
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, p.Law.Efficiency)
	steady := law.SteadyRamp(0.5).Density.At(p.Area)
	assert.InEpsilon(t, 0.05*float64(steady), float64(p.ContactCheck.NoContact), 0.02)
}

func TestFormedRackStartsWithItsFilm(t *testing.T) {
	r := purple(t)
	bare := build(t, r)
	r.Rack.FormedTo = 60
	p := build(t, r)
	assert.Greater(t, float64(p.Law.NativeFilm), 110.0)
	assert.Less(t, p.Expected.Charge, bare.Expected.Charge/4)
	assert.InDelta(t, float64(bare.Expected.Thickness), float64(p.Expected.Thickness), 1e-9, "colours continue, whatever was there")
	assert.Contains(t, codes(p), plan.FormedRack)
}

func codes(p plan.Plan) []string {
	found := []string{}
	for _, w := range p.Warnings {
		found = append(found, w.Code)
	}
	return found
}

// Golden plans, to eight digits: the last ones differ between processors.
func TestGoldenPlans(t *testing.T) {
	bench := starter(t, "light blue", "six headset spacers with hooks")
	bench.Supply = plan.SupplyLimits{HighestVolts: 120, HighestAmperes: 5, VoltStep: 0.01, AmpereStep: 0.001}
	virtual := starter(t, "second-order purple", "eight headset spacers")
	virtual.Simulated = true
	for name, r := range map[string]plan.Request{
		"second-order-purple": virtual,
		"light-blue":          bench,
		"timed-gold":          starter(t, "timed gold", "two clamps and four spacers"),
	} {
		t.Run(name, func(t *testing.T) {
			golden := filepath.Join("testdata", name+".json")
			text := shortened(t, build(t, r))
			if *update {
				require.NoError(t, os.MkdirAll("testdata", 0o755))
				require.NoError(t, os.WriteFile(golden, text, 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), string(text))
		})
	}
}

func shortened(t *testing.T, p plan.Plan) []byte {
	p.ID = "" // hangs on the last digit
	text, err := json.Marshal(p)
	require.NoError(t, err)
	var tree any
	require.NoError(t, json.Unmarshal(text, &tree))
	text, err = json.MarshalIndent(shorten(tree), "", "  ")
	require.NoError(t, err)
	return append(text, '\n')
}

func shorten(tree any) any {
	switch v := tree.(type) {
	case map[string]any:
		for key := range v {
			v[key] = shorten(v[key])
		}
	case []any:
		for i := range v {
			v[i] = shorten(v[i])
		}
	case float64:
		short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 8, 64), 64)
		if err == nil && math.Abs(v) > 1e-12 {
			return short
		}
	}
	return tree
}
