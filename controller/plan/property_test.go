package plan_test

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// drawn is a request anywhere in the range of the trade.
func drawn(t *rapid.T, base plan.Request) plan.Request {
	number := func(low, high float64, name string) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	r := base
	r.Profile.Target = profiles.Target{Volts: unit.Volts(number(3, 110, "volts"))}
	r.Profile.Ceiling = 0
	r.Profile.Ramp = unit.VoltsPerSecond(number(0.1, 5, "ramp"))
	r.Profile.CurrentDensity = unit.CurrentDensity(number(1, 15, "density"))
	r.Profile.End.CurrentDensity = unit.CurrentDensity(number(0.02, 0.9, "end"))
	if rapid.Bool().Draw(t, "timed") {
		r.Profile.End = profiles.End{Time: unit.Seconds(number(1, 600, "time"))}
	}
	r.Rack.Parts = []profiles.Part{{Name: "part", Count: rapid.IntRange(1, 24).Draw(t, "count"),
		Shape: profiles.Shape{Area: unit.SquareCentimetres(number(0.5, 90, "area"))}}}
	r.Rack.FormedTo = r.Profile.Target.Volts * unit.Volts(max(0, number(-1, 1, "formed")))
	r.Bath.Series = unit.Ohms(number(0, 10, "series"))
	r.Metal.NativeFilm = unit.Nanometres(number(0, 7, "native"))
	r.Metal.Growth.Efficiency = number(0.6, 1, "efficiency")
	return r
}

// Every plan of a valid request is finite, has room above its target, and is the
// same when made again.
func TestAnyPlan(t *testing.T) {
	base := purple(t)
	rapid.Check(t, func(t *rapid.T) {
		r := drawn(t, base)
		p, err := plan.Build(r)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(p)
		if err != nil {
			t.Fatalf("a number is not finite: %v", err)
		}
		again, err := plan.Build(r)
		if err != nil || again.ID != p.ID {
			t.Fatalf("made again it is %s, not %s: %v", again.ID, p.ID, err)
		}
		check, end := p.ContactCheck, p.End
		switch {
		case len(p.ID) != 16:
			t.Fatalf("id %q", p.ID)
		case !(p.CeilingVolts > p.TargetVolts):
			t.Fatalf("ceiling %v, target %v", p.CeilingVolts, p.TargetVolts)
		case check.Volts > p.TargetVolts || check.Volts < check.FormedVolts || check.NoContact < 0:
			t.Fatalf("contact check %+v for %v", check, p.TargetVolts)
		case p.Expected.HoldSeconds < end.LeastHold, end.Time == 0 && p.Expected.HoldSeconds > end.LongestHold:
			t.Fatalf("hold of %v, end %+v", p.Expected.HoldSeconds, end)
		case p.Stages[0].LongestRamp < p.Expected.RampSeconds-p.Expected.CheckSeconds+60-1e-9:
			t.Fatalf("longest ramp %v, expected %v", p.Stages[0].LongestRamp, p.Expected.RampSeconds)
		case p.Expected.Charge < 0 || p.Expected.RampCurrent > p.CurrentLimit*(1+1e-9):
			t.Fatalf("expected %s", text)
		}
	})
}

// Amperes go with the area; volts, film and colour do not.
func TestAmperesGoWithTheArea(t *testing.T) {
	base := purple(t)
	rapid.Check(t, func(t *rapid.T) {
		small := drawn(t, base)
		k := rapid.IntRange(2, 5).Draw(t, "k")
		large := small
		large.Rack.Parts = []profiles.Part{small.Rack.Parts[0]}
		large.Rack.Parts[0].Count *= k
		large.Rack.Fixture = []profiles.Fixture{}
		small.Rack.Fixture = nil
		a, errA := plan.Build(small)
		b, errB := plan.Build(large)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for name, pair := range map[string][2]float64{
			"limit":      {float64(a.CurrentLimit), float64(b.CurrentLimit)},
			"end":        {float64(a.End.Current), float64(b.End.Current)},
			"ramp":       {float64(a.Expected.RampCurrent), float64(b.Expected.RampCurrent)},
			"charge":     {float64(a.Expected.Charge), float64(b.Expected.Charge)},
			"no contact": {float64(a.ContactCheck.NoContact), float64(b.ContactCheck.NoContact)},
		} {
			if math.Abs(float64(k)*pair[0]-pair[1]) > 1e-6*math.Abs(pair[1])+1e-12 {
				t.Fatalf("%s: %v times %v is not %v", name, k, pair[0], pair[1])
			}
		}
		if math.Abs(float64(a.Expected.Thickness-b.Expected.Thickness)) > 1e-6 || a.TargetVolts != b.TargetVolts {
			t.Fatalf("film %v and %v", a.Expected.Thickness, b.Expected.Thickness)
		}
	})
}

// The id tells any two different plans apart.
func TestIDChangesWithThePlan(t *testing.T) {
	base := build(t, purple(t))
	for name, change := range map[string]func(*plan.Request){
		"volts":       func(r *plan.Request) { r.Profile.Target.Volts = 70.01 },
		"name":        func(r *plan.Request) { r.Profile.Name = "another" },
		"count":       func(r *plan.Request) { r.Rack.Parts[0].Count = 7 },
		"calibration": func(r *plan.Request) { r.Calibration.NMPerVolt = 1.98 },
		"provenance":  func(r *plan.Request) { r.Calibration.Provenance = "a guess" },
		"simulated":   func(r *plan.Request) { r.Simulated = true },
	} {
		r := purple(t)
		change(&r)
		if p := build(t, r); p.ID == base.ID {
			t.Errorf("%s: the id stays", name)
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	r := purple(b)
	for b.Loop() {
		if _, err := plan.Build(r); err != nil {
			b.Fatal(err)
		}
	}
}
