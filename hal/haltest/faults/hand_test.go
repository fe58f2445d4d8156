package faults

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/virtual/scpiserver"
)

// touches are what a hand does at the panel of a supply.
var touches = []struct {
	name string
	hand func(scpiserver.Source)
}{
	{"a volt down", knob(-1)}, {"a volt up", knob(1)}, {"a tenth down", knob(-0.1)}, {"half a volt up", knob(0.5)}, {"two steps", knob(-0.02)},
	{"the limit", func(s scpiserver.Source) { s.SetAmperes(1.3) }},
	{"switched off", func(s scpiserver.Source) { s.SwitchOutput(false) }},
}

func knob(turn float64) func(scpiserver.Source) {
	return func(s scpiserver.Source) { s.SetVolts(s.Settings().Volts + turn) }
}

// spans are when the load of 20 V is in a state, in s of the bench.
var spans = []struct {
	state    string
	from, to time.Duration
}{{"contact-check", 6 * time.Second, 18 * time.Second}, {"ramping", 21 * time.Second, 30 * time.Second}, {"holding", 34 * time.Second, 44 * time.Second}}

// overwrites tells whether the hand came in the milliseconds in which the setpoint was set
// anew: nobody read what stood there, or it lay between the old setpoint and the new one,
// which was then set once more. What the supply holds is ours again.
func (r *rig) overwrites() bool {
	return slices.ContainsFunc(r.supply.Tap.Heard()[r.heard:r.heard+2], func(line string) bool { return strings.HasPrefix(line, "01 06 00 00") })
}

// TestHandAtThePanelIsFoundOverModbus at random moments of the contact check, the ramp and
// the hold, on a connection and on the line that the lid shares.
func TestHandAtThePanelIsFoundOverModbus(t *testing.T) {
	_, err := surface()
	require.NoError(t, err)
	random := rand.New(rand.NewPCG(7, 8))
	for _, way := range []string{modbusTCP, modbusSerial} {
		for _, span := range spans {
			for _, touch := range touches {
				at := span.from + time.Duration(random.Int64N(int64(span.to-span.from)))
				want := expected{hand: fmt.Sprintf("%s at %.2f s, %s", touch.name, at.Seconds(), span.state), at: at,
					codes: codes(fault.SupplyTouched), within: asked, outcome: tripped}
				if span.state == "holding" {
					want.codes = codes(fault.SupplyTouched, fault.OverVoltage) // the volts are seen in each tick
				}
				want.does = func(r *rig) {
					assert.Equal(r.t, span.state, r.station.Load().Snapshot().State)
					r.bench.Exchange(r.elapsed(), func() { touch.hand(r.bench.Source()) })
					r.heard = len(r.supply.Tap.Heard())
				}
				t.Run(want.name()+" over "+way, func(t *testing.T) {
					t.Parallel()
					synctest.Test(t, func(t *testing.T) { one(t, way, want) })
				})
			}
		}
	}
}
