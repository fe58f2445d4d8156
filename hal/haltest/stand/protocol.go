package stand

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// SCPITap is a tap on lines of SCPI.
func SCPITap() *Tap {
	ends := func(so []byte) bool { return bytes.HasSuffix(so, []byte("\n")) }
	return &Tap{protocol: protocol{asked: ends, answered: ends, text: func(line []byte) string { return string(bytes.TrimSpace(line)) },
		garbage: []byte("\x00\xff#!?;\"\";~\n"), before: []byte("?%"), unasked: func([]byte) []byte { return []byte("3.3\n") }}}
}

// No answer of Modbus begins like a line of another protocol.
var (
	foreign = []byte("HTTP/1.0 400 Bad Request\r\n")
	noise   = []byte{0xFF, 0xFF, 0xFF, 0xFF}
)

func twice(answer []byte) []byte { return answer }

// TCPTap is a tap on frames of Modbus TCP.
func TCPTap() *Tap {
	whole := func(so []byte) bool { return len(so) >= 6 && len(so) >= 6+int(binary.BigEndian.Uint16(so[4:])) }
	return &Tap{protocol: protocol{asked: whole, answered: whole, refusal: refusalTCP, garbage: foreign, before: noise, unasked: twice,
		text: func(frame []byte) string { return fmt.Sprintf("%02X % X", frame[6], frame[7:]) }}}
}

// RTUTap is a tap on frames of Modbus RTU.
func RTUTap() *Tap {
	whole := func(length func([]byte) int) func([]byte) bool {
		return func(so []byte) bool { n := length(so); return n > 0 && len(so) >= n }
	}
	return &Tap{protocol: protocol{asked: whole(questionLength), answered: whole(answerLength), refusal: refusalRTU, garbage: foreign, before: noise, unasked: twice,
		text: func(frame []byte) string { return fmt.Sprintf("%02X % X", frame[0], frame[1:len(frame)-2]) }}}
}

// The functions whose frames have a length of their own.
const (
	writeRegisters = 0x10
	encapsulated   = 0x2B
	refused        = 0x80
)

// questionLength is that of the question which begins here, 0 for not yet known.
func questionLength(so []byte) int {
	switch {
	case len(so) < 2 || so[1] == writeRegisters && len(so) < 7:
		return 0
	case so[1] == writeRegisters:
		return 9 + int(so[6])
	case so[1] == encapsulated:
		return 7
	}
	return 8
}

// answerLength is that of the answer which begins here, 0 for not yet known.
func answerLength(so []byte) int {
	switch {
	case len(so) < 3:
		return 0
	case so[1]&refused != 0:
		return 5
	case so[1] <= 4:
		return 5 + int(so[2])
	case so[1] == encapsulated:
		return identificationLength(so)
	}
	return 8
}

// identificationLength walks over the objects of a device identification.
func identificationLength(so []byte) int {
	if len(so) < 8 {
		return 0
	}
	length := 8
	for range so[7] {
		if len(so) < length+2 {
			return 0
		}
		length += 2 + int(so[length+1])
	}
	return length + 2
}

// Refusal is an instrument that takes no value: exception 03 to the next write.
func (t *Tap) Refusal() { t.Instead(t.protocol.refusal) }

func writes(function byte) bool { return function == 0x06 || function == writeRegisters }

func refusalTCP(question []byte) []byte {
	if !writes(question[7]) {
		return nil
	}
	return append(append([]byte{}, question[:4]...), 0, 3, question[6], question[7]|refused, 3)
}

func refusalRTU(question []byte) []byte {
	if !writes(question[1]) {
		return nil
	}
	body := []byte{question[0], question[1] | refused, 3}
	return binary.LittleEndian.AppendUint16(body, checkSum(body))
}

// checkSum is that of MODBUS over Serial Line V1.02, 6.2.2.
func checkSum(b []byte) uint16 {
	sum := uint16(0xFFFF)
	for _, c := range b {
		sum ^= uint16(c)
		for range 8 {
			odd := sum & 1
			if sum >>= 1; odd == 1 {
				sum ^= 0xA001
			}
		}
	}
	return sum
}
