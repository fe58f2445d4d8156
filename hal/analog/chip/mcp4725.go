package chip

import (
	"context"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/unit"
)

// MCP4725 is a converter of 12 bits on I2C, at addresses 0x60 to 0x67. Its full
// scale is its supply voltage. At power-up it loads a code from its EEPROM, which
// comes from the factory at half scale.
type MCP4725 struct {
	device    i2c.Dev
	reference unit.Volts
}

// NewMCP4725 takes the chip at an address; the reference is its supply voltage.
func NewMCP4725(bus i2c.Bus, address uint16, reference unit.Volts) *MCP4725 {
	return &MCP4725{i2c.Dev{Bus: bus, Addr: address}, reference}
}

const (
	mcp4725Register = 0x40 // write the register
	mcp4725Keep     = 0x60 // write the register and the EEPROM
	mcp4725Ready    = 0x80 // no EEPROM write is under way
	mcp4725Asleep   = 0x06 // the power-down bits
	mcp4725Keeping  = 100 * time.Millisecond
)

// Codes is 4096.
func (m *MCP4725) Codes() int { return 1 << 12 }

// FullScale is the chip's supply voltage.
func (m *MCP4725) FullScale() unit.Volts { return m.reference }

func (m *MCP4725) String() string { return fmt.Sprintf("MCP4725 at 0x%02x", m.device.Addr) }

// Write sets the register, not the EEPROM.
func (m *MCP4725) Write(code int) error {
	if err := inCodes(m, code); err != nil {
		return err
	}
	if err := m.device.Tx([]byte{mcp4725Register, byte(code >> 4), byte(code << 4)}, nil); err != nil {
		return gone(m, fmt.Sprintf("write %d", code), err)
	}
	return nil
}

// mcp4725State is what the chip tells of itself in five bytes.
type mcp4725State struct {
	ready, asleep bool
	code, powerUp int
}

func decodeMCP4725(b [5]byte) mcp4725State {
	return mcp4725State{
		ready:   b[0]&mcp4725Ready != 0,
		asleep:  b[0]&mcp4725Asleep != 0,
		code:    int(b[1])<<4 | int(b[2])>>4,
		powerUp: int(b[3]&0x0F)<<8 | int(b[4]),
	}
}

func (m *MCP4725) state() (mcp4725State, error) {
	var answer [5]byte
	if err := m.device.Tx(nil, answer[:]); err != nil {
		return mcp4725State{}, gone(m, "read its registers", err)
	}
	return decodeMCP4725(answer), nil
}

// Read tells the code in the register. While the EEPROM is written the chip ignores
// what is sent to it, and asleep it drives nothing: both are errors.
func (m *MCP4725) Read() (int, error) {
	state, err := m.state()
	switch {
	case err != nil:
		return 0, err
	case !state.ready:
		return 0, fmt.Errorf("%s: %w: it is writing its EEPROM and ignores codes", m, hal.ErrRefused)
	case state.asleep:
		return 0, fmt.Errorf("%s: %w: it is in power-down", m, hal.ErrMismatch)
	}
	return state.code, nil
}

// Start demands that the power-up code is zero.
func (m *MCP4725) Start(context.Context) error {
	if err := startAtZero(m); err != nil {
		return err
	}
	state, err := m.state()
	if err != nil {
		return err
	}
	if state.powerUp != 0 {
		return fmt.Errorf("%s: %w: it powers up at code %d of %d, %.2f V, before any software runs; with the supply's mains off, commission the chip (anodized commission), which writes zero into its EEPROM",
			m, hal.ErrRefused, state.powerUp, m.Codes(), float64(m.reference)*float64(state.powerUp)/float64(m.Codes()))
	}
	return nil
}

// Commission writes zero into register and EEPROM, and reads both back. It is for
// once in the chip's life, with the supply's mains off.
func (m *MCP4725) Commission(ctx context.Context) error {
	if err := m.device.Tx([]byte{mcp4725Keep, 0, 0}, nil); err != nil {
		return gone(m, "write zero into its EEPROM", err)
	}
	var state mcp4725State
	err := until(ctx, m, "write its EEPROM", mcp4725Keeping, func() (ready bool, err error) {
		state, err = m.state()
		return state.ready, err
	})
	if err != nil {
		return err
	}
	if state.code != 0 || state.powerUp != 0 {
		return fmt.Errorf("%s: %w: zero was written; its register holds %d, its EEPROM %d", m, hal.ErrMismatch, state.code, state.powerUp)
	}
	return nil
}
