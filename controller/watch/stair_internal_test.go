package watch

import (
	"testing"

	"anodized/controller/plan"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// TestTeethOfTheCurrentAreCutByItsLimit: a setpoint that climbs in steps of a fifth of a volt
// makes teeth of 10 mA, and a limit that stands 4 mA above their feet leaves those alone.
func TestTeethOfTheCurrentAreCutByItsLimit(t *testing.T) {
	for name, c := range map[string]struct {
		limit   unit.Amperes
		limited bool
		above   float64 // A
	}{
		"no limit near":           {1, false, 0.005},
		"none at all":             {0, false, 0.005},
		"a limit at their points": {0.11, false, 0.005},
		"a limit in the midst":    {0.104, false, 0.004 - 0.5*0.004*0.4},
		"a limit at their feet":   {0.1, false, 0},
		"a limit below the feet":  {0.099, false, 0}, // of a meter that reads much
		"the limit holds it":      {0.104, true, 0},
	} {
		t.Run(name, func(t *testing.T) {
			w := New(plan.Plan{Area: 100, Law: plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, Series: 10}}, Bench{Tick: 0.2})
			perVolt := 1 / w.law.NMPerVolt(1)
			softness := perVolt * 1e7 * w.law.B
			s := sample{i: 0.1, film: 10 * softness * 0.1 / perVolt} // ten ohms of film
			w.set = 15
			assert.InDelta(t, c.above, w.stair(Tick{Set: 15.2, Limit: c.limit, Limited: c.limited}, s, perVolt), 1e-9)
		})
	}
}
