package modbusserver

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

const (
	headerBytes = 7
	mostPDU     = 253
	readInputs  = 0x02
	mostInputs  = 2000
	failed      = 0x80
)

// The exceptions of the protocol (section 7).
const (
	illegalFunction byte = 1
	illegalAddress  byte = 2
	illegalValue    byte = 3
	deviceFailure   byte = 4
	targetSilent    byte = 0x0b
)

var errFrame = errors.New("not a Modbus TCP frame")

// request is one frame from a client.
type request struct {
	transaction uint16
	unit        byte
	pdu         []byte // function and data
}

// readRequest reads one frame.
func readRequest(r io.Reader) (request, error) {
	var header [headerBytes]byte
	if _, err := io.ReadFull(r, header[:]); err != nil {
		return request{}, err
	}
	length := int(binary.BigEndian.Uint16(header[4:]))
	if protocol := binary.BigEndian.Uint16(header[2:]); protocol != 0 || length < 2 || length > mostPDU+1 {
		return request{}, fmt.Errorf("%w: protocol %d, length %d", errFrame, protocol, length)
	}
	pdu := make([]byte, length-1)
	if _, err := io.ReadFull(r, pdu); err != nil {
		return request{}, err
	}
	return request{binary.BigEndian.Uint16(header[:]), header[6], pdu}, nil
}

// frame puts the header in front of an answer. Where there is no such unit, that is
// what a gateway says.
func (q request) frame(pdu []byte) []byte {
	if pdu == nil {
		pdu = refuse(q.pdu, targetSilent)
	}
	frame := binary.BigEndian.AppendUint16(nil, q.transaction)
	frame = append(frame, 0, 0)
	frame = binary.BigEndian.AppendUint16(frame, uint16(len(pdu)+1))
	frame = append(frame, q.unit)
	return append(frame, pdu...)
}

func refuse(pdu []byte, code byte) []byte { return []byte{pdu[0] | failed, code} }

// Module is what is asked for its inputs.
type Module interface {
	Inputs() ([]bool, error) // an error is answered as a failed device
}

// Inputs answers a request to a module of discrete inputs.
func Inputs(pdu []byte, module Module) []byte {
	if pdu[0] == diagnostics {
		return loopback(pdu)
	}
	if pdu[0] != readInputs {
		return refuse(pdu, illegalFunction)
	}
	if len(pdu) != 5 {
		return refuse(pdu, illegalValue)
	}
	first, count := int(binary.BigEndian.Uint16(pdu[1:])), int(binary.BigEndian.Uint16(pdu[3:]))
	if count < 1 || count > mostInputs {
		return refuse(pdu, illegalValue)
	}
	inputs, err := module.Inputs()
	if err != nil {
		return refuse(pdu, deviceFailure)
	}
	if first+count > len(inputs) {
		return refuse(pdu, illegalAddress)
	}
	return packed(inputs[first : first+count])
}

// packed puts eight inputs into a byte, the first in its lowest bit.
func packed(inputs []bool) []byte {
	pdu := make([]byte, 2+(len(inputs)+7)/8)
	pdu[0], pdu[1] = readInputs, byte(len(pdu)-2)
	for i, on := range inputs {
		if on {
			pdu[2+i/8] |= 1 << (i % 8)
		}
	}
	return pdu
}
