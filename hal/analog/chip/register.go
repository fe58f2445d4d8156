package chip

import (
	"fmt"

	"periph.io/x/conn/v3/i2c"
)

// registers is an I2C chip with registers of two or three bytes, high byte first.
type registers struct {
	name   string
	device i2c.Dev
}

func newRegisters(name string, bus i2c.Bus, address uint16) registers {
	return registers{name, i2c.Dev{Bus: bus, Addr: address}}
}

func (r registers) String() string { return fmt.Sprintf("%s at 0x%02x", r.name, r.device.Addr) }

func (r registers) write(register byte, value uint16) error {
	if err := r.device.Tx([]byte{register, byte(value >> 8), byte(value)}, nil); err != nil {
		return gone(r, fmt.Sprintf("write register %02X", register), err)
	}
	return nil
}

func (r registers) read(register byte) (uint16, error) {
	var answer [2]byte
	if err := r.device.Tx([]byte{register}, answer[:]); err != nil {
		return 0, gone(r, fmt.Sprintf("read register %02X", register), err)
	}
	return uint16(answer[0])<<8 | uint16(answer[1]), nil
}

func (r registers) read24(register byte) ([3]byte, error) {
	var answer [3]byte
	if err := r.device.Tx([]byte{register}, answer[:]); err != nil {
		return answer, gone(r, fmt.Sprintf("read register %02X", register), err)
	}
	return answer, nil
}

// left20 takes the signed 20 bits that stand left in 24.
func left20(b [3]byte) int32 {
	return int32(uint32(b[0])<<24|uint32(b[1])<<16|uint32(b[2])<<8) >> 12
}
