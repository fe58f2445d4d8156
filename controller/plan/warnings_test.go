package plan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// quiet is a request without anything to warn of.
func quiet(t require.TestingT) plan.Request {
	r := starter(t, "light blue", "six headset spacers with hooks")
	r.Calibration.Book = false
	r.Calibration.Temperature, r.Temperature = 20, 20
	r.Calibration.EndCurrentDensity = r.Profile.End.CurrentDensity
	r.Profile.Target = profiles.Target{Volts: 28}
	r.Profile.Ceiling = 0
	return r
}

func TestNothingToWarnOf(t *testing.T) {
	p := build(t, quiet(t))
	assert.Empty(t, p.Warnings)
	assert.NotNil(t, p.Warnings, "an empty list in JSON, not null")
}

func TestWarnings(t *testing.T) {
	for code, change := range map[string]func(*plan.Request){
		plan.LimitedBySupply:     func(r *plan.Request) { r.Supply.HighestAmperes = 0.7 },
		plan.LimitedByCurrent:    func(r *plan.Request) { r.Profile.CurrentDensity = 2 },
		plan.HighCurrentDensity:  func(r *plan.Request) { r.Profile.CurrentDensity = 12 },
		plan.SupplyStepTooCoarse: func(r *plan.Request) { r.Supply.VoltStep = 1 },
		plan.ReadbackTooCoarse:   func(r *plan.Request) { r.Supply.AmpereStep = 0.01 },
		plan.SupplyNotStarvable:  func(r *plan.Request) { r.Supply.LeastVolts, r.Supply.LeastAmperes = 1, 0.05 },
		plan.HoldWillRunOut:      func(r *plan.Request) { r.Profile.End.LongestHold = 6 },
		plan.EndNotSustained:     func(r *plan.Request) { r.Profile.End.Sustained = 0 },
		plan.SeriesDrop:          func(r *plan.Request) { r.Bath.Series = 20 },
		plan.CeilingTight:        func(r *plan.Request) { r.Profile.Ceiling = 28.1 },
		plan.GuardRequired:       func(r *plan.Request) { r.Profile.Target.Volts = 50 },
		plan.AttendedOnly:        func(r *plan.Request) { r.Attended = true },
		plan.BookCalibration:     func(r *plan.Request) { r.Calibration.Book = true },
		plan.CalibrationOtherEnd: func(r *plan.Request) { r.Calibration.EndCurrentDensity = 0.5 },
		plan.CalibrationOtherMetal: func(r *plan.Request) {
			r.Calibration.Metal = "niobium"
		},
		plan.CalibrationStale:        func(r *plan.Request) { r.Calibration.Date, r.Today = "2026-03-02", "2026-04-02" },
		plan.CalibrationExtrapolated: func(r *plan.Request) { r.Calibration.FromVolts, r.Calibration.ToVolts = 40, 90 },
		plan.CalibrationOtherFinish: func(r *plan.Request) {
			r.Calibration.Finish, r.Rack.Parts[0].Finish = "polished", "blasted"
		},
		plan.BathNotRead:                 func(r *plan.Request) { r.Temperature = 0 },
		plan.TemperatureConvertsNothing:  func(r *plan.Request) { r.Calibration.Temperature = 0 },
		plan.CalibrationOtherTemperature: func(r *plan.Request) { r.Temperature = 22.5 },
		plan.CalibrationPoor:             func(r *plan.Request) { r.Calibration.RMSDE00, r.Calibration.Readings = 2.8, 8 },
		plan.CalibrationOtherBath:        func(r *plan.Request) { r.Calibration.Bath = "phosphate" },
		plan.ProfileOtherMetal:           func(r *plan.Request) { r.Profile.Metal = "niobium" },
		plan.ProfileOtherBath:            func(r *plan.Request) { r.Profile.Bath = "phosphate" },
		plan.IndicativeMetal:             func(r *plan.Request) { r.Metal.Indicative = true },
		plan.ColourNotReachable: func(r *plan.Request) {
			r.Profile.Target = profiles.Target{Lab: &[3]float64{60, -8, -18}}
		},
		plan.ColourOutOfGamut:    func(r *plan.Request) { r.Profile.Target.Volts = 85 },
		plan.LookAlike:           func(r *plan.Request) { r.Profile.Target.Volts = 53 },
		plan.ContactBelowReading: func(r *plan.Request) { r.Supply.AmpereStep = 0.01 },
		plan.FormedRack:          func(r *plan.Request) { r.Rack.FormedTo = 20 },
		plan.ContactNotProvable:  func(r *plan.Request) { r.Rack.Parts[0].Count = 24 },
		plan.AreaUncertain:       func(r *plan.Request) { r.Rack.Parts[0].Roughness = 2 },
		plan.MixedHeatNumbers: func(r *plan.Request) {
			mix(r, func(first, second *profiles.Part) { first.HeatNumber, second.HeatNumber = "H1", "H2" })
		},
		plan.MixedFinishes: func(r *plan.Request) {
			mix(r, func(first, second *profiles.Part) { first.Finish, second.Finish = "blasted", "polished" })
		},
		plan.Simulated:       func(r *plan.Request) { r.Simulated = true },
		plan.ThresholdsMoved: func(r *plan.Request) { r.Profile.Watch.LostShare = 0.08 },
	} {
		t.Run(code, func(t *testing.T) {
			r := quiet(t)
			change(&r)
			p := build(t, r)
			require.Contains(t, codes(p), code)
			for _, w := range p.Warnings {
				assert.NotContains(t, w.Message, "%!", "a verb without its value")
				assert.Greater(t, len(w.Message), 40, "says what to do")
			}
		})
	}
}

func mix(r *plan.Request, change func(first, second *profiles.Part)) {
	second := r.Rack.Parts[0]
	r.Rack.Parts = append(r.Rack.Parts, second)
	change(&r.Rack.Parts[0], &r.Rack.Parts[1])
}

func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*plan.Request)
		want   string
	}{
		"no target":               {func(r *plan.Request) { r.Profile.Target = profiles.Target{} }, "no target"},
		"no end":                  {func(r *plan.Request) { r.Profile.End = profiles.End{} }, "no end"},
		"end above the ramp's":    {func(r *plan.Request) { r.Profile.End.CurrentDensity = 6 }, "not below the current density"},
		"least over longest":      {func(r *plan.Request) { r.Profile.End.LeastHold = 500 }, "longer than the longest hold"},
		"no ramp":                 {func(r *plan.Request) { r.Profile.Ramp = 0 }, "ramp in V/s is 0"},
		"ceiling":                 {func(r *plan.Request) { r.Profile.Ceiling = 20 }, "ceiling 20 V is not above the target 28 V"},
		"already past it":         {func(r *plan.Request) { r.Rack.FormedTo = 40 }, "a film only grows"},
		"formed to nonsense":      {func(r *plan.Request) { r.Rack.FormedTo = -3 }, "formed to -3 V"},
		"no parts":                {func(r *plan.Request) { r.Rack.Parts = nil }, "no parts"},
		"thinner than nothing":    {func(r *plan.Request) { r.Profile.Target = profiles.Target{Thickness: 1} }, "above 0 V"},
		"bad calibration":         {func(r *plan.Request) { r.Calibration.NMPerVolt = 0 }, "nm per volt of the calibration is 0"},
		"current below the least": {func(r *plan.Request) { r.Supply.LeastAmperes = 2 }, "below the 2 A that this supply can be set to"},
		"volts below the least":   {func(r *plan.Request) { r.Supply.LeastVolts = 9 }, "the contact check ends at 8 V, below the 9 V"},
		"bad hex":                 {func(r *plan.Request) { r.Profile.Target = profiles.Target{Hex: "purple"} }, "purple"},
		"red": {func(r *plan.Request) { r.Profile.Target = profiles.Target{Hex: "#ff0000"} },
			"colour not reachable: the nearest to #ff0000"},
		"no volts left": {func(r *plan.Request) {
			r.Profile.Target, r.Rack.FormedTo, r.Supply.HighestVolts = profiles.Target{Hex: "#9ad377"}, 60, 60
		}, "no volts are left"},
		"no temperature":  {func(r *plan.Request) { r.Bath.Temperature, r.Bath.LeastTemp, r.Bath.MostTemp = 0, 0, 0 }, "give it a temperature"},
		"one temperature": {func(r *plan.Request) { r.Bath.LeastTemp, r.Bath.MostTemp = 20, 20 }, "give it a temperature"},
		"edge of heat":    {func(r *plan.Request) { r.Calibration.Temperature = r.Bath.MostTemp + 5 }, "no temperature fits both"},
		"another heat":    {func(r *plan.Request) { r.Calibration.Temperature = 50 }, "no temperature fits both"},
		"no surface":      {func(r *plan.Request) { r.Surface = nil }, "no optical constants"},
		"bath":            {func(r *plan.Request) { r.Bath.Series = -1 }, "series resistance"},
		"broken law":      {func(r *plan.Request) { r.Metal.Growth.Electrons = 0 }, "finite"},
		"simulated law":   {func(r *plan.Request) { r.Calibration.Simulated = true }, "must not feed a real bench"},
	} {
		t.Run(name, func(t *testing.T) {
			r := quiet(t)
			c.change(&r)
			_, err := plan.Build(r)
			assert.ErrorContains(t, err, c.want)
			assert.ErrorContains(t, err, "light blue", "names the profile")
		})
	}
}

func TestNotReachableIsToldApart(t *testing.T) {
	r := quiet(t)
	r.Profile.Target = profiles.Target{Hex: "#ff0000"}
	_, err := plan.Build(r)
	assert.ErrorIs(t, err, plan.ErrNotReachable)
	r.Profile.Ramp = 0
	_, err = plan.Build(r)
	assert.NotErrorIs(t, err, plan.ErrNotReachable)
}

func TestReadingTooCoarseToEndBy(t *testing.T) {
	r := quiet(t)
	r.Supply.AmpereStep = 0.02
	p := build(t, r)
	i := indexOf(p, plan.ReadbackTooCoarse)
	require.GreaterOrEqual(t, i, 0)
	assert.True(t, strings.Contains(p.Warnings[i].Message, "will be refused"))
	r.Profile.End = profiles.End{Time: 30}
	assert.NotContains(t, codes(build(t, r)), plan.ReadbackTooCoarse, "a timed end reads no current")
}

func indexOf(p plan.Plan, code string) int {
	for i, w := range p.Warnings {
		if w.Code == code {
			return i
		}
	}
	return -1
}

func TestSimulatedCalibrationOnTheVirtualBench(t *testing.T) {
	r := quiet(t)
	r.Calibration.Simulated, r.Simulated = true, true
	p := build(t, r)
	assert.True(t, p.Simulated)
	assert.Equal(t, unit.Volts(28), p.TargetVolts)
}

// A step that is a fifteenth of the end current is 0.3 % of film, ln(16/15) over a softness of
// 21.6: at 85 V that is 0.26 V, dE00 1.1 there (computed independently); at 50 V it is 0.4.
func TestAStepOfTheReadingInColour(t *testing.T) {
	for _, c := range []struct {
		volts unit.Volts
		steps unit.Amperes
		told  bool
	}{{85, 15, true}, {85, 30, false}, {50, 15, false}} {
		r := quiet(t)
		r.Profile.Target.Volts = c.volts
		r.Supply.AmpereStep = build(t, r).End.Current / c.steps
		p := build(t, r)
		i := indexOf(p, plan.ReadbackTooCoarse)
		assert.Equal(t, c.told, i >= 0, "%v in %v steps", c.volts, float64(c.steps))
		if c.told {
			assert.Contains(t, p.Warnings[i].Message, "two loads may end a step apart, which is 0.5")
		}
	}
}
