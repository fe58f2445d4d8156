package watch_test

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// hung is a contact check and a ramp of a rack of which so much has contact.
func hung(p plan.Plan, share float64) (w *watch.Watch, asked bool) {
	p.ContactCheck = plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.02}
	w = watch.New(p, bench)
	law, x, volts, phase := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), 1.5, 0.0, watch.PhaseContactCheck
	for n := 1; volts < 40; n++ {
		if volts >= 8-1e-9 {
			phase = watch.PhaseRamp
		}
		volts += 0.1
		if phase == watch.PhaseContactCheck {
			volts -= 0.05
		}
		for range fine {
			x += law.KF * float64(law.Density(unit.Volts(volts), unit.Nanometres(x))) / 1000 * 0.1 / fine
		}
		amperes := float64(law.Density(unit.Volts(volts), unit.Nanometres(x)).At(p.Area)) * share
		w.Update(watch.Tick{T: unit.Seconds(n) / 10, OK: true, Phase: phase, Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes),
			Set: unit.Volts(volts), Limit: 10})
		asked = asked || w.Missing()
	}
	return w, asked
}

// past is a history whose loads behaved like a full rack, with some scatter.
func past(p plan.Plan, loads int, scatter float64) plan.History {
	w, _ := hung(p, 1)
	check, ramp := w.Shares()
	return plan.History{Loads: loads, Check: plan.Share{Mean: check, SD: scatter * check}, Ramp: plan.Share{Mean: ramp, SD: scatter * ramp}}
}

func TestAPartThatNeverHadContact(t *testing.T) {
	for name, c := range map[string]struct {
		loads          int
		scatter, share float64
		want, proven   bool
	}{
		"one of eight, nine good loads":             {9, 0.02, 0.875, true, true},
		"all hang":                                  {9, 0.02, 1, false, true},
		"all hang, a little less":                   {9, 0.02, 0.96, false, true},
		"loads that never differ are not believed":  {20, 0, 0.93, true, true},
		"a little less than half of a part":         {20, 0, 0.95, false, true},
		"loads that differ by as much as a part":    {5, 0.04, 0.875, false, false},
		"too few loads":                             {4, 0.02, 0.875, false, false},
		"no history":                                {0, 0, 0.875, false, false},
		"one of eight, twenty loads of some spread": {20, 0.03, 0.875, true, true},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.History = past(p, c.loads, c.scatter)
			w, asked := hung(p, c.share)
			w.Close(true, false)
			assert.Equal(t, c.want, asked, "asked in the contact check")
			assert.Equal(t, c.want, has(w, fault.PartMissing))
			assert.NotEqual(t, c.proven, has(w, fault.ContactNotProven))
			assert.False(t, w.Missing(), "the check is over")
		})
	}
}

func TestSharesAreTheAreaOverTheDeclaredOne(t *testing.T) {
	full, _ := hung(reference(), 1)
	less, _ := hung(reference(), 0.75)
	for k, pair := range [][2]float64{both(full), both(less)} {
		want := []float64{1, 0.75}[k]
		assert.InEpsilon(t, want, pair[0], 0.06, "at 8 V the estimate is a little low")
		assert.InEpsilon(t, want, pair[1], 0.02)
	}
	fresh := watch.New(reference(), bench)
	check, ramp := fresh.Shares()
	assert.True(t, math.IsNaN(check) && math.IsNaN(ramp))
}

func both(w *watch.Watch) [2]float64 {
	check, ramp := w.Shares()
	return [2]float64{check, ramp}
}
