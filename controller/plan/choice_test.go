package plan_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/plan"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

func key() plan.Key {
	return plan.Key{Metal: "titanium-grade-5", Finish: "blasted", Bath: "bicarbonate", End: 0.15, Temperature: 20, Today: "2026-12-01"}
}

// fitting is a calibration that fits the key in everything.
func fitting(id string) profiles.Calibration {
	return profiles.Calibration{ID: id, Metal: "titanium-grade-5", Finish: "blasted", Bath: "bicarbonate",
		NMPerVolt: 2, EndCurrentDensity: 0.15, Temperature: 20, Date: "2026-11-20"}
}

// Each of these is worse than one that fits, whatever else it is, and the row above
// counts more than the row below.
func TestTheCalibrationThatFitsBest(t *testing.T) {
	worse := []struct {
		name   string
		change func(*profiles.Calibration)
	}{
		{"another finish", func(c *profiles.Calibration) { c.Finish = "polished" }},
		{"a finish that is not known", func(c *profiles.Calibration) { c.Finish = "" }},
		{"stale", func(c *profiles.Calibration) { c.Date = "2026-10-20" }},
		{"5 K away", func(c *profiles.Calibration) { c.Temperature = 25 }},
		{"another end", func(c *profiles.Calibration) { c.EndCurrentDensity = 0.5 }},
		{"older", func(c *profiles.Calibration) { c.Date = "2026-11-19" }},
	}
	var all []profiles.Calibration
	for _, row := range worse {
		c := fitting(row.name)
		row.change(&c)
		all = append(all, c)
	}
	all = append(all, fitting("fits"))
	for len(all) > 0 {
		best, choice, found := plan.Choose(key(), all)
		require.True(t, found)
		require.Equal(t, all[len(all)-1].ID, best.ID)
		require.Equal(t, len(all), choice.Considered)
		all = all[:len(all)-1]
	}
}

func TestWhatNeverFits(t *testing.T) {
	for name, change := range map[string]func(*profiles.Calibration){
		"metal":     func(c *profiles.Calibration) { c.Metal = "niobium" },
		"bath":      func(c *profiles.Calibration) { c.Bath = "phosphate" },
		"book":      func(c *profiles.Calibration) { c.Book = true },
		"simulated": func(c *profiles.Calibration) { c.Simulated = true },
	} {
		c := fitting("x")
		change(&c)
		_, _, found := plan.Choose(key(), []profiles.Calibration{c})
		assert.False(t, found, name)
	}
	c, simulated := fitting("x"), key()
	c.Simulated, simulated.Simulated = true, true
	_, _, found := plan.Choose(simulated, []profiles.Calibration{c})
	assert.True(t, found, "on the virtual bench it serves")
	real := fitting("real")
	best, _, _ := plan.Choose(simulated, []profiles.Calibration{real, c})
	assert.Equal(t, "x", best.ID, "and there before that of a real bath")
}

func TestWhyItWasChosen(t *testing.T) {
	_, choice, _ := plan.Choose(key(), []profiles.Calibration{fitting("a"), fitting("b")})
	assert.Equal(t, plan.Choice{By: plan.ByKey, Considered: 2,
		Why: "the best of 2 for titanium-grade-5 in bicarbonate; the same finish; 11 days old; the same end"}, choice)
	other := fitting("c")
	other.Finish, other.EndCurrentDensity, other.Date = "Polished", 0.5, ""
	_, choice, _ = plan.Choose(key(), []profiles.Calibration{other})
	assert.Equal(t, `the only one for titanium-grade-5 in bicarbonate; for the finish "Polished"; made with an end at 0.5 mA/cm2`, choice.Why)
}

func TestABathThatWasMadeUpAnewMakesItsLaddersStale(t *testing.T) {
	renewed := key()
	renewed.Renewed = "2026-11-21"
	old, since := fitting("before"), fitting("since")
	since.Date, since.Temperature = "2026-11-22", 25
	best, _, _ := plan.Choose(renewed, []profiles.Calibration{old, since})
	assert.Equal(t, "since", best.ID)
}

// Whatever there is, the choice hangs on no order but that of equals, and never on one
// that does not fit.
func TestChoiceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) profiles.Calibration {
			return profiles.Calibration{
				ID:     rapid.StringMatching(`[a-z]{6}`).Draw(t, "id"),
				Metal:  rapid.SampledFrom([]string{"titanium-grade-5", "niobium"}).Draw(t, "metal"),
				Finish: rapid.SampledFrom([]string{"", "blasted", "BLASTED", "polished"}).Draw(t, "finish"),
				Bath:   rapid.SampledFrom([]string{"", "bicarbonate", "phosphate"}).Draw(t, "bath"),
				Date:   rapid.SampledFrom([]string{"", "2026-11-30", "2026-10-01", "2027-01-01"}).Draw(t, "date"),
				Book:   rapid.Bool().Draw(t, "book"), Simulated: rapid.Bool().Draw(t, "simulated"),
				EndCurrentDensity: unit.CurrentDensity(rapid.SampledFrom([]float64{0.15, 0.5}).Draw(t, "end")),
				Temperature:       unit.Celsius(rapid.SampledFrom([]float64{0, 19, 25}).Draw(t, "temperature")),
			}
		}), 0, 12).Draw(t, "all")
		best, choice, found := plan.Choose(key(), all)
		if !found {
			return
		}
		require.False(t, best.Book || best.Simulated)
		require.Equal(t, []string{"titanium-grade-5", "bicarbonate"}, []string{best.Metal, best.Bath})
		require.NotEmpty(t, choice.Why)
		mixed := rapid.Permutation(all).Draw(t, "mixed")
		again, same, _ := plan.Choose(key(), mixed)
		again.ID = best.ID
		again.Finish = best.Finish // the case of the letters is no difference
		require.Equal(t, best, again, "another order of the shelf")
		require.Equal(t, choice.Considered, same.Considered)
	})
}

// Against the calendar of the standard library.
func TestDaysBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(-40000, 40000).Draw(t, "from"))
		days := rapid.IntRange(-40000, 40000).Draw(t, "days")
		got, known := plan.AgeInDays(from.Format(time.DateOnly), from.AddDate(0, 0, days).Format(time.DateOnly))
		require.True(t, known)
		require.Equal(t, days, got)
	})
	for _, wrong := range []string{"", "2026-3-2", "yesterday!", "2026-13-01", "2026-00-10"} {
		_, known := plan.AgeInDays(wrong, "2026-12-01")
		assert.False(t, known, wrong)
	}
}
