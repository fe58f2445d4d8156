package faults

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/virtual"
)

// TestSupplyThatCannotBeSetToZero does a load like any other; one that does not go off is
// told of in time, and as one that gives its least for as long as nobody pulls its plug.
func TestSupplyThatCannotBeSetToZero(t *testing.T) {
	_, err := surface()
	require.NoError(t, err)
	for _, way := range []string{modbusTCP, modbusSerial} {
		for text, want := range map[string]expected{
			"readback-volts-gain@20.05s,size=1.0001": {outcome: complete},
			"output-stuck-on@hold":                   {outcome: tripped, codes: codes(fault.OutputStuckOn), within: 2.5, afterOff: true},
			"supply-silent@20.05s":                   {outcome: tripped, codes: codes(fault.SupplySilent), within: silent, shown: silent},
		} {
			t.Run(text+" over "+way, func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					f, err := virtual.ParseFault(text)
					require.NoError(t, err)
					r := standFrom(t, way, virtual.Setup{Seed: 3, Parts: spacerParts(), Faults: []virtual.Fault{f}}, least{1.5, 0.05})
					defer r.close()
					s := through(t, r, 0)
					require.Equal(t, want.outcome, s.result.Outcome, "%v %v", s.result.Trip, s.result.Reasons)
					if want.outcome == tripped {
						require.Contains(t, want.codes, s.result.Trip.Code)
						want.judge(t, s, s.result.Trip.Code)
					}
					if text == "output-stuck-on@hold" {
						assert.Contains(t, s.result.Trip.Message, "cannot be set below 1.5 V and 0.05 A")
						assert.InDelta(t, 1.5, r.bench.Truth().HeldVolts, 0.01, "it is at its least")
					}
				})
			})
		}
	}
}
