package modbusserver

import "encoding/binary"

const (
	readHolding    = 0x03
	readInput      = 0x04
	writeOne       = 0x06
	diagnostics    = 0x08
	writeMany      = 0x10
	encapsulated   = 0x2B
	identification = 0x0E

	mostRegisters = 125
	mostWritten   = 123
)

// Registers are the numbers of a device. A false answer refuses with illegal address.
type Registers interface {
	Holding(address int) (uint16, bool)
	Input(address int) (uint16, bool)
	// Write sets holding registers, all or none. The code is 0, or an exception.
	Write(address int, words []uint16) (code byte)
	// Identity is maker, product code and revision.
	Identity() [3]string
}

// Execute answers a request to a device of registers.
func Execute(pdu []byte, device Registers) []byte {
	switch pdu[0] {
	case readHolding:
		return read(pdu, device.Holding)
	case readInput:
		return read(pdu, device.Input)
	case writeOne:
		return writeRegister(pdu, device)
	case writeMany:
		return writeRegisters(pdu, device)
	case diagnostics:
		return loopback(pdu)
	case encapsulated:
		return identify(pdu, device)
	}
	return refuse(pdu, illegalFunction)
}

func read(pdu []byte, register func(int) (uint16, bool)) []byte {
	if len(pdu) != 5 {
		return refuse(pdu, illegalValue)
	}
	first, count := int(binary.BigEndian.Uint16(pdu[1:])), int(binary.BigEndian.Uint16(pdu[3:]))
	if count < 1 || count > mostRegisters {
		return refuse(pdu, illegalValue)
	}
	answer := []byte{pdu[0], byte(2 * count)}
	for address := first; address < first+count; address++ {
		word, there := register(address)
		if !there {
			return refuse(pdu, illegalAddress)
		}
		answer = binary.BigEndian.AppendUint16(answer, word)
	}
	return answer
}

func writeRegister(pdu []byte, device Registers) []byte {
	if len(pdu) != 5 {
		return refuse(pdu, illegalValue)
	}
	if code := device.Write(int(binary.BigEndian.Uint16(pdu[1:])), []uint16{binary.BigEndian.Uint16(pdu[3:])}); code != 0 {
		return refuse(pdu, code)
	}
	return pdu
}

func writeRegisters(pdu []byte, device Registers) []byte {
	if len(pdu) < 6 {
		return refuse(pdu, illegalValue)
	}
	count := int(binary.BigEndian.Uint16(pdu[3:]))
	if count < 1 || count > mostWritten || int(pdu[5]) != 2*count || len(pdu) != 6+2*count {
		return refuse(pdu, illegalValue)
	}
	words := make([]uint16, count)
	for i := range words {
		words[i] = binary.BigEndian.Uint16(pdu[6+2*i:])
	}
	if code := device.Write(int(binary.BigEndian.Uint16(pdu[1:])), words); code != 0 {
		return refuse(pdu, code)
	}
	return pdu[:5]
}

// loopback gives the data of diagnostics 0 back.
func loopback(pdu []byte) []byte {
	if len(pdu) != 5 {
		return refuse(pdu, illegalValue)
	}
	if pdu[1] != 0 || pdu[2] != 0 {
		return refuse(pdu, illegalFunction)
	}
	return pdu
}

// identify answers with the basic objects, which every identification has (6.21).
func identify(pdu []byte, device Registers) []byte {
	if len(pdu) != 4 || pdu[1] != identification {
		return refuse(pdu, illegalFunction)
	}
	if pdu[2] != 1 || pdu[3] != 0 {
		return refuse(pdu, illegalAddress)
	}
	objects := device.Identity()
	answer := []byte{encapsulated, identification, 1, 1, 0, 0, byte(len(objects))}
	for id, text := range objects {
		text = text[:min(len(text), 60)]
		answer = append(append(answer, byte(id), byte(len(text))), text...)
	}
	return answer
}
