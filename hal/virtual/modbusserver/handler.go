package modbusserver

import "time"

// Handler is the devices behind a wire. It is called from several goroutines.
type Handler interface {
	Connected() bool // a client came; false turns it away
	Disconnected()   // it went
	Request(unit byte, pdu []byte) Reply
}

// Reply is what a request leads to on the wire.
type Reply struct {
	PDU    []byte              // function and data; nil: there is no such unit
	Delay  time.Duration       // until it goes out
	Spoil  func([]byte) []byte // what happens to the whole frame; nil: nothing
	Silent bool
	Close  bool // hang up; a serial line is silent instead
}

// frame puts a reply on the wire.
func (r Reply) frame(whole []byte) []byte {
	if r.Spoil != nil {
		return r.Spoil(whole)
	}
	return whole
}

// one is a module that is reached under one unit number.
type one struct {
	unit      byte
	module    Module
	reachable func() bool
}

func (o one) Connected() bool { return true }
func (o one) Disconnected()   {}

func (o one) Request(unit byte, pdu []byte) Reply {
	if o.reachable != nil && !o.reachable() {
		return Reply{Close: true}
	}
	if unit != o.unit {
		return Reply{}
	}
	return Reply{PDU: Inputs(pdu, o.module)}
}
