package modbus

import (
	"encoding/binary"
	"errors"
	"fmt"
)

const (
	readDiscreteInputs = 0x02
	headerLength       = 7    // transaction 2, protocol 2, length 2, unit 1
	longestFrame       = 260  // header and 253 bytes of function and data
	mostInputs         = 2000 // that one request may ask for
	exceptionBit       = 0x80
)

var errFrame = errors.New("not an answer to what was asked")

// exceptions are the exception codes of the specification, section 7.
var exceptions = map[byte]string{
	0x01: "illegal function",
	0x02: "illegal data address",
	0x03: "illegal data value",
	0x04: "server device failure",
	0x05: "acknowledge",
	0x06: "server device busy",
	0x08: "memory parity error",
	0x0A: "gateway path unavailable",
	0x0B: "gateway target device failed to respond",
}

// request is a reading of discrete inputs.
type request struct {
	transaction uint16
	unit        byte
	first       uint16 // address of the first input
	count       uint16 // 1 to 2000
}

// appendTo appends the frame of the request.
func (r request) appendTo(b []byte) []byte {
	b = binary.BigEndian.AppendUint16(b, r.transaction)
	b = append(b, 0, 0, 0, 6, r.unit, readDiscreteInputs)
	b = binary.BigEndian.AppendUint16(b, r.first)
	return binary.BigEndian.AppendUint16(b, r.count)
}

// bodyLength checks the header of an answer, and returns how many bytes follow it.
func (r request) bodyLength(header []byte) (int, error) {
	transaction, protocol := binary.BigEndian.Uint16(header), binary.BigEndian.Uint16(header[2:])
	length := int(binary.BigEndian.Uint16(header[4:]))
	switch {
	case transaction != r.transaction:
		return 0, fmt.Errorf("%w: transaction %d, not %d", errFrame, transaction, r.transaction)
	case protocol != 0:
		return 0, fmt.Errorf("%w: protocol %d, not 0", errFrame, protocol)
	case length < 3 || length > longestFrame-headerLength+1:
		return 0, fmt.Errorf("%w: %d bytes announced", errFrame, length)
	case header[6] != r.unit:
		return 0, fmt.Errorf("%w: unit %d, not %d", errFrame, header[6], r.unit)
	}
	return length - 1, nil
}

// inputs checks the body of an answer and returns the packed inputs, lowest bit first.
func (r request) inputs(body []byte) ([]byte, error) {
	if body[0] == readDiscreteInputs|exceptionBit && len(body) == 2 {
		return nil, Exception(body[1])
	}
	packed := (int(r.count) + 7) / 8
	if body[0] != readDiscreteInputs || len(body) != 2+packed || int(body[1]) != packed {
		return nil, fmt.Errorf("%w: % X, %d bytes of inputs were expected", errFrame, body[:min(len(body), 16)], packed)
	}
	return body[2:], nil
}

// bit returns one of the packed inputs.
func bit(packed []byte, n int) bool {
	return packed[n/8]&(1<<(n%8)) != 0
}
