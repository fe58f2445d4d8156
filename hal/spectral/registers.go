package spectral

import (
	"fmt"
	"strings"

	"anodized/hal"
)

// Address is where the chip answers; it has no other.
const Address = 0x39

// The registers.
const (
	config  = 0x70 // only while bankLow is set
	lamp    = 0x74 // likewise
	enable  = 0x80
	aTime   = 0x81
	id      = 0x92
	aStatus = 0x94 // reading it latches the counts behind it
	status2 = 0xA3
	cfg0    = 0xA9
	cfg1    = 0xAA
	cfg6    = 0xAF
	aStep   = 0xCA // low byte first
)

// Their bits.
const (
	powerOn       = 0x01
	measuring     = 0x02
	leading       = 0x10 // the multiplexer takes its words
	partNumber    = 0x09 // in the upper six bits of id
	bankLow       = 0x10
	lampByChip    = 0x08
	lampOn        = 0x80
	wordsOut      = 0x10 // write the multiplexer's words from memory to it
	valid         = 0x40
	saturated     = 0x80 // of aStatus
	gainMask      = 0x0F // of aStatus
	overAnalogue  = 0x08 // of status2
	overDigital   = 0x10
	channels      = 6
	channelsOfUse = 4 // in one pass: the last two are clear and infrared
)

// Words of the multiplexer: which photodiode goes to which converter.
var (
	wordsLow  = [20]byte{0x30, 0x01, 0, 0, 0, 0x42, 0, 0, 0x50, 0, 0, 0, 0x20, 0x04, 0, 0x30, 0x01, 0x50, 0, 0x06}
	wordsHigh = [20]byte{0, 0, 0, 0x40, 0x02, 0, 0x10, 0x03, 0x50, 0x10, 0x03, 0, 0, 0, 0x24, 0, 0, 0x50, 0, 0x06}
)

// How long a pass integrates: (aTime + 1) (aStep + 1) 2.78 us, and as many counts at most.
const (
	aTimeValue = 29
	aStepValue = 1999
	mostCount  = (aTimeValue + 1) * (aStepValue + 1)
)

// bank is what cfg0 holds for the high registers, and for the low ones.
func bank(low bool) byte {
	if low {
		return bankLow
	}
	return 0
}

func (s *Sensor) write(register byte, values ...byte) error {
	out := append([]byte{register}, values...)
	if err := s.bus.Tx(Address, out, nil); err != nil {
		return lost(fmt.Sprintf("write % X", out), err)
	}
	return nil
}

func (s *Sensor) read(register byte, into []byte) error {
	if err := s.bus.Tx(Address, []byte{register}, into); err != nil {
		return lost(fmt.Sprintf("read %02X", register), err)
	}
	return nil
}

// lost is a transfer that the chip did not acknowledge: nobody is there.
func lost(what string, err error) error {
	return fmt.Errorf("%s: %w: %w; check its cable and its power", what, hal.ErrGone, err)
}

func (s *Sensor) byteOf(register byte) (byte, error) {
	var one [1]byte
	err := s.read(register, one[:])
	return one[0], err
}

// holds tells whether the chip still has what was written: after a loss of power it has
// not.
func (s *Sensor) holds() error {
	var wrong []string
	for _, want := range []struct {
		register byte
		values   []byte
	}{
		{aTime, []byte{aTimeValue}}, {aStep, []byte{aStepValue & 0xFF, aStepValue >> 8}}, {cfg1, []byte{s.gain}},
	} {
		got := make([]byte, len(want.values))
		if err := s.read(want.register, got); err != nil {
			return err
		}
		if string(got) != string(want.values) {
			wrong = append(wrong, fmt.Sprintf("%02X holds % X, not % X", want.register, got, want.values))
		}
	}
	if len(wrong) > 0 {
		s.forget()
		return fmt.Errorf("%w: %s: it lost its power, and its references: take both again", hal.ErrNoReading, strings.Join(wrong, "; "))
	}
	return nil
}
