package faults

import (
	"anodized/controller/fault"
)

var overModbus = []string{modbusTCP, modbusSerial}

// namedRows are spoilt answers of a supply that can say who it is. None of them may cost it the
// off: who answers on a new connection has to say first who it is, and in garbage nobody can.
// So off goes out on the connection on which it was proven.
var namedRows = []expected{
	{fault: "supply-silent@20.05s", named: true, codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped, on: overModbus},
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
}
