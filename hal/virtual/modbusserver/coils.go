package modbusserver

import "encoding/binary"

const (
	readCoils = 0x01
	writeCoil = 0x05
	coilOn    = 0xFF00
	mostCoils = 2000
)

// Coils are the outputs of a module.
type Coils interface {
	Coil(number int) (on, there bool)
	SetCoil(number int, on bool) error // an error is answered as a failed device
}

// ExecuteCoils answers a request for coils (functions 01 and 05).
func ExecuteCoils(pdu []byte, module Coils) []byte {
	if len(pdu) != 5 {
		return refuse(pdu, illegalValue)
	}
	first, value := int(binary.BigEndian.Uint16(pdu[1:])), binary.BigEndian.Uint16(pdu[3:])
	switch {
	case pdu[0] == readCoils:
		return coils(pdu, module, first, int(value))
	case pdu[0] != writeCoil:
		return refuse(pdu, illegalFunction)
	case value != 0 && value != coilOn:
		return refuse(pdu, illegalValue)
	}
	if _, there := module.Coil(first); !there {
		return refuse(pdu, illegalAddress)
	}
	if err := module.SetCoil(first, value == coilOn); err != nil {
		return refuse(pdu, deviceFailure)
	}
	return pdu
}

func coils(pdu []byte, module Coils, first, count int) []byte {
	if count < 1 || count > mostCoils {
		return refuse(pdu, illegalValue)
	}
	all := make([]bool, count)
	for n := range all {
		there := false
		if all[n], there = module.Coil(first + n); !there {
			return refuse(pdu, illegalAddress)
		}
	}
	answer := packed(all)
	answer[0] = readCoils
	return answer
}
