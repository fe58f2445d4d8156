package modbus

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Framing is how requests and answers are told apart on a line.
type Framing uint8

// The framings. TCP has a header with a transaction number; RTU has a check sum and
// neither header nor number, on a serial line or inside a TCP connection.
const (
	TCP Framing = iota
	RTU
)

const (
	lastUnit     = 247 // on a serial line
	headerLength = 7   // of TCP: transaction 2, protocol 2, length 2, unit 1
	longestFrame = 260 // header and the longest function and data
)

// appendFrame appends the frame of a request.
func (f Framing) appendFrame(b []byte, transaction uint16, unit byte, pdu []byte) []byte {
	if f == RTU {
		from := len(b)
		b = append(append(b, unit), pdu...)
		return binary.LittleEndian.AppendUint16(b, crc(b[from:]))
	}
	b = binary.BigEndian.AppendUint16(b, transaction)
	b = append(b, 0, 0)
	b = binary.BigEndian.AppendUint16(b, uint16(len(pdu)+1))
	return append(append(b, unit), pdu...)
}

// crc is the check sum of MODBUS over Serial Line V1.02, 6.2.2.
func crc(b []byte) uint16 {
	sum := uint16(0xFFFF)
	for _, c := range b {
		sum ^= uint16(c)
		for range 8 {
			odd := sum & 1
			sum >>= 1
			if odd == 1 {
				sum ^= 0xA001
			}
		}
	}
	return sum
}

// source gives the bytes of an answer: peek waits until there are n of them.
type source interface {
	peek(n int) ([]byte, error)
}

// answer reads the answer to a request and checks everything that can be checked. It
// returns the length of the frame as well.
func (f Framing) answer(s source, transaction uint16, unit byte, request []byte) (pdu []byte, length int, err error) {
	if f == RTU {
		return answerRTU(s, unit, request)
	}
	return answerTCP(s, transaction, unit, request)
}

var (
	// errForeign is an answer that is certainly another's: a frame of TCP with the number
	// of another transaction, or one of RTU, with a right check sum, of another unit. It
	// does no harm, and the right one is still waited for (MODBUS over Serial Line V1.02,
	// 2.4.1).
	errForeign = fmt.Errorf("%w: another's", errFrame)
	// errEarlier is a whole RTU frame of this unit that answers another question.
	errEarlier = fmt.Errorf("%w: another question's", errFrame)
)

func answerTCP(s source, transaction uint16, unit byte, request []byte) ([]byte, int, error) {
	header, err := s.peek(headerLength)
	if err != nil {
		return nil, 0, err
	}
	protocol, length := binary.BigEndian.Uint16(header[2:]), int(binary.BigEndian.Uint16(header[4:]))
	if protocol != 0 || length < 3 || length > longestFrame-headerLength+1 {
		return nil, 0, fmt.Errorf("%w: protocol %d and %d bytes announced", errFrame, protocol, length)
	}
	frame, err := s.peek(headerLength - 1 + length)
	switch {
	case err != nil:
		return nil, 0, err
	case binary.BigEndian.Uint16(frame) != transaction:
		return nil, len(frame), errForeign
	case frame[6] != unit:
		return nil, 0, fmt.Errorf("%w: unit %d, not %d", errFrame, frame[6], unit)
	}
	pdu := frame[headerLength:]
	return pdu, len(frame), checkAnswer(request, pdu)
}

func answerRTU(s source, unit byte, request []byte) ([]byte, int, error) {
	frame, err := frameRTU(s)
	if err != nil {
		return nil, 0, err
	}
	pdu := frame[1 : len(frame)-2]
	if frame[0] != unit {
		return nil, len(frame), fmt.Errorf("%w: unit %d, not %d", errForeign, frame[0], unit)
	}
	err = checkAnswer(request, pdu)
	if errors.Is(err, errFrame) {
		err = fmt.Errorf("%w: %w", errEarlier, err)
	}
	return pdu, len(frame), err
}

// frameRTU reads the frame that begins here, whosever it is.
func frameRTU(s source) ([]byte, error) {
	start, err := s.peek(2)
	switch {
	case err != nil:
		return nil, err
	case start[0] < 1 || start[0] > lastUnit:
		return nil, fmt.Errorf("%w: unit %d", errFrame, start[0])
	}
	length, err := lengthRTU(s, start[1])
	if err != nil {
		return nil, err
	}
	frame, err := s.peek(length)
	if err != nil {
		return nil, err
	}
	body := frame[:length-2]
	if sum := binary.LittleEndian.Uint16(frame[length-2:]); sum != crc(body) {
		return nil, fmt.Errorf("%w: check sum %04X, not %04X", errFrame, sum, crc(body))
	}
	return frame, nil
}

// lengthRTU works out how long an answer is: the silence that ends it on the wire
// cannot be seen from here.
func lengthRTU(s source, function byte) (int, error) {
	switch {
	case function&exceptionBit != 0:
		return 5, nil
	case function == encapsulated:
		return lengthIdentification(s)
	case function <= readInput:
		start, err := s.peek(3)
		if err != nil {
			return 0, err
		}
		return bounded(5 + int(start[2]))
	}
	return 8, nil
}

// lengthIdentification walks over the objects of a device identification.
func lengthIdentification(s source) (int, error) {
	start, err := s.peek(8)
	if err != nil {
		return 0, err
	}
	length := 8
	for range start[7] {
		if length, err = bounded(length + 2); err != nil {
			return 0, err
		}
		object, err := s.peek(length)
		if err != nil {
			return 0, err
		}
		length += int(object[length-1])
	}
	return bounded(length + 2)
}

func bounded(length int) (int, error) {
	if length > longestPDU+3 {
		return 0, fmt.Errorf("%w: a frame of %d bytes", errFrame, length)
	}
	return length, nil
}
