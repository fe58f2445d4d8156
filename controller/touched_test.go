package controller

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/virtual/scpiserver"
)

// touched is a load at whose supply somebody does something, some time after a state.
func touched(t *testing.T, w way, seed uint64, state string, after time.Duration, hand func(scpiserver.Source)) {
	var at time.Duration
	p := straw()
	p.Stages[0].Ramp, p.Ramp = 1, 1
	p.End.Sustained, p.Stages[0].End.Sustained = 6, 6 // a hold that is longer than the hand waits
	r := inRig(t, w, seed, p, func(r *rig) {
		r.until(t, state)
		<-time.After(after)
		at = sinceEpoch()
		r.bench.Exchange(at, func() { hand(r.bench.Source()) })
	})
	require.NotNil(t, r.result.Trip, "%v after %s: %+v", after, state, r.result)
	if trip := r.result.Trip; state == "holding" && trip.Code == fault.OverVoltage { // the volts are seen in each tick, the hand once a second
		assert.Contains(t, trip.Confused, "knob turned by hand")
	} else {
		assert.Equal(t, fault.SupplyTouched, trip.Code, "%+v", trip)
		assert.NotEmpty(t, trip.Evidence)
	}
	assert.LessOrEqual(t, r.tripped-at, 1200*time.Millisecond)
}

var touches = []struct {
	name string
	hand func(scpiserver.Source)
}{
	{"a volt down", knob(-1)}, {"a volt up", knob(1)}, {"a tenth down", knob(-0.1)}, {"half a volt up", knob(0.5)}, {"two steps", knob(-0.02)},
	{"the limit", func(s scpiserver.Source) { s.SetAmperes(2) }},
	{"switched off", func(s scpiserver.Source) { s.SwitchOutput(false) }},
}

func knob(turn float64) func(scpiserver.Source) {
	return func(s scpiserver.Source) { s.SetVolts(s.Settings().Volts + turn) }
}

// TestHandAtThePanelIsAlwaysFound: at random moments of the slow ramp, the ramp and the
// hold, by as little as two steps of the supply, in memory and over SCPI. Over Modbus it is
// looked for with the other faults of devices (hal/haltest/faults).
func TestHandAtThePanelIsAlwaysFound(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for name, open := range map[string]func() way{"in memory": func() way { return inMemory{} }, "SCPI": func() way { return &onPipe{} }} {
		for n := range 21 {
			for _, touch := range touches {
				bubbled(t, fmt.Sprintf("%s, %s, %d", name, touch.name, n), func(t *testing.T) {
					after := time.Duration(random.Int64N(int64(2500 * time.Millisecond)))
					touched(t, open(), uint64(n), []string{"contact-check", "ramping", "holding"}[n%3], after, touch.hand)
				})
			}
		}
	}
}
