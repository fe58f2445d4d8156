package front

import (
	"encoding/binary"

	"anodized/hal/virtual/modbusserver"
)

// module is the remote module of the bench: the lid on discrete inputs 0 and 1, the bath
// as input register 0; where the bench has them, emergency stop and mirror contact on
// inputs 2 to 4, the contactor on coils 0 and 1, and the voltmeter in input registers.
type module struct {
	front *Front
	unit  byte
}

// Connected welcomes everybody: whoever talks to the module is no person at the bench.
func (m module) Connected() bool { return true }

// Disconnected has nothing to do.
func (m module) Disconnected() {}

// Request is answered for the module's own unit.
func (m module) Request(unit byte, pdu []byte) (reply modbusserver.Reply) {
	if unit != m.unit {
		return reply
	}
	f := m.front
	if pdu[0] == 1 || pdu[0] == 5 {
		f.bench.Exchange(f.now(), func() { reply.PDU = modbusserver.ExecuteCoils(pdu, f.bench) })
		return reply
	}
	if pdu[0] == 2 || pdu[0] == 8 {
		return modbusserver.Reply{PDU: modbusserver.Inputs(pdu, asked{f, pdu})}
	}
	volts := 0.0
	f.bench.Exchange(f.now(), func() { volts = f.bench.MeterVolts() }) // both words of one reading
	return modbusserver.Reply{PDU: modbusserver.Execute(pdu, lidRegisters{f, volts})}
}

// asked are the inputs that a request is for.
type asked struct {
	front *Front
	pdu   []byte
}

// Inputs are all of them, true for a closed contact.
func (a asked) Inputs() (inputs []bool, err error) {
	first, count := int(binary.BigEndian.Uint16(a.pdu[1:])), int(binary.BigEndian.Uint16(a.pdu[3:]))
	a.front.bench.Exchange(a.front.now(), func() { inputs, err = a.front.bench.ModuleInputs(first, count) })
	return inputs, err
}
