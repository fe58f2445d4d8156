package front

import (
	"time"

	"anodized/hal/virtual/modbusserver"
)

// The unit numbers on the bus of the virtual bench.
const (
	SupplyUnit = 1
	LidUnit    = 2 // the remote module
)

// bus is a Modbus line on which the supply and the lid's module hang.
type bus Front

// Connected counts a client, unless the supply is unplugged.
func (b *bus) Connected() bool { return (*supplyWire)(b).Connected() }

// Disconnected counts a client that went.
func (b *bus) Disconnected() { (*supplyWire)(b).Disconnected() }

// Request is answered by the unit that it is for.
func (b *bus) Request(unit byte, pdu []byte) modbusserver.Reply {
	switch unit {
	case SupplyUnit:
		return b.supply(pdu)
	case LidUnit:
		return module{(*Front)(b), LidUnit}.Request(unit, pdu)
	}
	return modbusserver.Reply{}
}

// supply carries out a request, and does to the answer what the timetable says.
func (b *bus) supply(pdu []byte) (reply modbusserver.Reply) {
	b.bench.Exchange((*Front)(b).now(), func() {
		wire, source := b.bench.Wire(), b.bench.Source()
		if wire.Gone {
			reply.Close = true
			return
		}
		source.Heard()
		reply.PDU = modbusserver.Execute(pdu, supplyRegisters{source, b.options.LeastVolts, b.options.LeastAmperes})
		reply.Silent = wire.Silent
		reply.Delay = time.Duration(float64(wire.Late) / b.options.Speed)
		if wire.Spoils() {
			reply.Spoil = func(frame []byte) (bad []byte) {
				b.bench.Exchange((*Front)(b).now(), func() { bad = b.bench.Deliver(frame, nil) })
				return bad
			}
		}
	})
	return reply
}
