package onewire

import (
	"errors"
	"fmt"

	"anodized/hal"
	"anodized/hal/unit"
)

// scratchpad is the memory that the chip sends.
type scratchpad [9]byte

const (
	powerUpCode    = 0x0550 // 85 °C, in the register before the first conversion
	powerUpMark    = 0x0C   // byte 6 then
	noPowerCode    = 0x07FF // 127.94 °C, when the supply failed during a conversion
	lowestCelsius  = -55
	highestCelsius = 125
)

// celsius decodes the temperature, or says why there is none.
func (s scratchpad) celsius() (unit.Celsius, error) {
	code := int16(uint16(s[1])<<8 | uint16(s[0]))
	value := unit.Celsius(code) / 16
	switch {
	case crc8(s[:8]) != s[8]:
		return 0, s.reject(fmt.Sprintf("check sum %02X, computed %02X", s[8], crc8(s[:8])))
	case s[4]&0x9F != 0x1F:
		return 0, s.reject(fmt.Sprintf("configuration byte %02X is not a DS18B20's", s[4]))
	case code == powerUpCode && s[6] == powerUpMark:
		return 0, s.reject("85 °C of power-up: nothing was converted")
	case code == noPowerCode:
		return 0, s.reject("127.94 °C: the chip had no power while it converted")
	case value < lowestCelsius || value > highestCelsius:
		return 0, s.reject(fmt.Sprintf("%g °C is outside the chip's range", float64(value)))
	}
	return value, nil
}

var errRejected = errors.New("rejected")

func (s scratchpad) reject(why string) error {
	return fmt.Errorf("scratchpad % X: %w: %w: %s", s[:], hal.ErrNoReading, errRejected, why)
}

// crc8 is the check sum of 1-Wire: x⁸+x⁵+x⁴+1, lowest bit first, from 0.
func crc8(data []byte) byte {
	var crc byte
	for _, b := range data {
		crc ^= b
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8C
			} else {
				crc >>= 1
			}
		}
	}
	return crc
}
