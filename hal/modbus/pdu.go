package modbus

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"anodized/hal"
)

// The functions of the protocol that are used here (V1.1b3, 6).
const (
	readCoils          = 0x01
	readDiscreteInputs = 0x02
	readHolding        = 0x03
	readInput          = 0x04
	writeCoil          = 0x05
	writeRegister      = 0x06
	diagnostics        = 0x08
	writeRegisters     = 0x10
	encapsulated       = 0x2B

	deviceIdentification = 0x0E // the kind of encapsulated interface
	exceptionBit         = 0x80

	longestPDU    = 253
	mostInputs    = 2000 // that one request may ask for
	mostRegisters = 125
	coilOn        = 0xFF00
)

// errFrame marks what no device in step with us would answer.
var errFrame = fmt.Errorf("not an answer to what was asked, so %w", hal.ErrNoReading)

// errStray marks bytes that came although no answer is outstanding.
var errStray = fmt.Errorf("stray bytes: %w", errFrame)

// errUnasked are stray bytes that were there before a question: it was not sent.
var errUnasked = fmt.Errorf("%w: bytes came unasked", errStray)

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

// reading asks for so many inputs, coils or registers from an address on.
func reading(function byte, address, count int) []byte {
	pdu := binary.BigEndian.AppendUint16([]byte{function}, uint16(address))
	return binary.BigEndian.AppendUint16(pdu, uint16(count))
}

// writing sets registers: one with function 06, more with function 16.
func writing(address int, words []uint16) []byte {
	if len(words) == 1 {
		return reading(writeRegister, address, int(words[0]))
	}
	pdu := append(reading(writeRegisters, address, len(words)), byte(2*len(words)))
	for _, word := range words {
		pdu = binary.BigEndian.AppendUint16(pdu, word)
	}
	return pdu
}

// checkAnswer tells whether an answer is one to this request, by all that the
// protocol lets us know. An exception is returned as [Exception].
func checkAnswer(request, answer []byte) error {
	function := request[0]
	if len(answer) == 2 && answer[0] == function|exceptionBit {
		return Exception(answer[1])
	}
	fits := false
	switch function {
	case readCoils, readDiscreteInputs:
		n := (count(request) + 7) / 8
		fits = len(answer) == 2+n && answer[0] == function && int(answer[1]) == n
	case readHolding, readInput:
		n := 2 * count(request)
		fits = len(answer) == 2+n && answer[0] == function && int(answer[1]) == n
	case writeRegisters:
		fits = bytes.Equal(answer, request[:5])
	case encapsulated:
		fits = len(answer) >= 7 && bytes.Equal(answer[:3], request[:3])
	default: // an echo
		fits = bytes.Equal(answer, request)
	}
	if !fits {
		return fmt.Errorf("%w: % X to % X", errFrame, clip(answer), clip(request))
	}
	return nil
}

func clip(b []byte) []byte { return b[:min(len(b), 16)] }

// count is how many things a reading asks for.
func count(request []byte) int { return int(binary.BigEndian.Uint16(request[3:])) }

// bit returns one of the packed inputs, lowest bit first.
func bit(packed []byte, n int) bool {
	return packed[n/8]&(1<<(n%8)) != 0
}

// registers are the words of an answer to a reading of registers.
func registers(answer []byte) []uint16 {
	words := make([]uint16, 0, mostRegisters)
	for b := answer[2:]; len(b) >= 2; b = b[2:] {
		words = append(words, binary.BigEndian.Uint16(b))
	}
	return words
}
