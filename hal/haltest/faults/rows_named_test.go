package faults

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/fault"
)

var overModbus = []string{modbusTCP, modbusSerial}

// namedRows are spoilt answers of a supply that can say who it is. None of them may cost it the
// off: who answers on a new connection has to say first who it is, and in garbage nobody can.
// So off goes out on the connection on which it was proven.
var namedRows = []expected{
	{fault: "supply-silent@20.05s", named: true, codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped, on: overModbus},
	{fault: "supply-silent@20.05s,for=500ms", named: true, outcome: complete, on: wires}, // it is asked again within its second
	{fault: "late-reply@20.05s,size=0.4,for=100ms", named: true, outcome: complete, on: overModbus[:1]},
	{fault: "late-reply@20.05s,size=0.6,for=ever", named: true, codes: linkLost, within: silent + 1.2, shown: silent, outcome: tripped, on: overModbus},
	{fault: "garbage@20.05s,for=100ms", named: true, outcome: complete, on: overModbus},
	{fault: "garbage@20.05s,for=ever", named: true, codes: linkLost, within: silent, shown: silent, outcome: tripped, on: overModbus},
	{fault: "cut-reply@20.05s,for=100ms", named: true, outcome: complete, on: overModbus},
	{fault: "cut-reply@20.05s,for=ever", named: true, codes: linkLost, within: silent, shown: silent, outcome: tripped, on: overModbus},
	{fault: "doubled-reply@20.05s,for=100ms", named: true, outcome: complete, on: overModbus},
	{fault: "doubled-reply@20.05s,for=ever", named: true, codes: linkLost, within: silent, shown: silent, outcome: tripped, on: wires},
	{fault: "merged-reply@20.05s,for=100ms", named: true, outcome: complete, on: overModbus},
	{fault: "merged-reply@20.05s,for=ever", named: true, codes: linkLost, within: silent, shown: silent, outcome: tripped, on: overModbus},
	{hand: "the module of lid and contactor answers garbage", does: moduleRaves, setup: chain, named: true, codes: codes(fault.InterlockOpen, fault.EmergencyStop),
		within: 0.55, outcome: tripped, on: long, then: contactorIsDropped},
}

// moduleRaves has each answer of the remote module come with every byte wrong.
func moduleRaves(r *rig) {
	r.plugs[1].Tap.Rewrite(func(_ string, answer []byte) []byte {
		spoilt := slices.Clone(answer)
		for i := range spoilt {
			spoilt[i] ^= 0x5A
		}
		return spoilt
	})
}

// contactorIsDropped: the module hears, whatever it answers.
func contactorIsDropped(t *testing.T, r *rig, _ seen) {
	assert.False(t, r.bench.Truth().ContactorClosed)
}
