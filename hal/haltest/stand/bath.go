package stand

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"sync"
	"testing/fstest"
	"time"

	"periph.io/x/conn/v3"
	"periph.io/x/conn/v3/onewire"

	"anodized/hal/virtual"
)

// Bath is the bath of a virtual bench as the chips of thermometers see it.
type Bath struct {
	bench *virtual.Bench
	now   func() time.Duration

	mu        sync.Mutex
	registers [8]byte
	pads      func([9]byte) [9]byte
}

// NewBath returns the bath of a bench.
func NewBath(bench *virtual.Bench, now func() time.Duration) *Bath {
	return &Bath{bench: bench, now: now}
}

// Spoil changes what each scratchpad of a DS18B20 holds.
func (b *Bath) Spoil(pads func([9]byte) [9]byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.pads = pads
}

// celsius is what a chip in the bath measures; an error where it cannot be reached.
func (b *Bath) celsius() (float64, error) {
	b.bench.Exchange(b.now(), func() {})
	celsius, _, err := b.bench.Thermometer().Temperature(context.Background())
	return float64(celsius), err
}

// Scratchpad is that of a DS18B20 with a code and a byte 6, its check sum right.
func Scratchpad(code uint16, byte6 byte) (pad [9]byte) {
	copy(pad[:], []byte{byte(code), byte(code >> 8), 0x4B, 0x46, 0x7F, 0xFF, byte6, 0x10})
	pad[8] = onewire.CalcCRC(pad[:8])
	return pad
}

func (b *Bath) pad() ([9]byte, error) {
	celsius, err := b.celsius()
	if err != nil {
		return [9]byte{}, err
	}
	code := int16(math.Round(celsius * 16))
	pad := Scratchpad(uint16(code), byte(16-code&15))
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.pads != nil {
		pad = b.pads(pad)
	}
	return pad, nil
}

// KernelChip is the kernel's name of the thermometer's chip.
const KernelChip = "28-000001318252"

// Open makes the bath the kernel's folder of 1-Wire chips: opening the file converts.
func (b *Bath) Open(name string) (fs.File, error) {
	files := fstest.MapFS{KernelChip + "/w1_slave": {}}
	if strings.HasSuffix(name, "w1_slave") {
		pad, err := b.pad()
		if err != nil {
			return nil, errors.Join(fs.ErrNotExist, err)
		}
		files[name] = &fstest.MapFile{Data: []byte(kernelText(pad))}
	}
	return files.Open(name)
}

func kernelText(pad [9]byte) string {
	digits, word := strings.TrimSpace(fmt.Sprintf("% x", pad[:])), "YES"
	if onewire.CalcCRC(pad[:8]) != pad[8] {
		word = "NO"
	}
	thousandths := int(int16(uint16(pad[1])<<8|uint16(pad[0]))) * 1000 / 16
	return fmt.Sprintf("%s : crc=%02x %s\n%s t=%d\n", digits, pad[8], word, digits, thousandths)
}

// Bus is a 1-Wire bus with that chip on it.
func (b *Bath) Bus() onewire.Bus { return wire{b} }

type wire struct{ bath *Bath }

// romCode is that of KernelChip with its check sum, from periph's documentation.
const romCode = onewire.Address(0x7A00000131825228)

func (wire) String() string { return "1-Wire" }

func (wire) Search(bool) ([]onewire.Address, error) { return []onewire.Address{romCode}, nil }

func (w wire) Tx(asked, answer []byte, _ onewire.Pullup) error {
	if len(asked) == 0 || asked[len(asked)-1] != 0xBE || len(answer) != 9 {
		return nil // a conversion
	}
	pad, err := w.bath.pad()
	if err != nil {
		pad = [9]byte{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF} // nobody pulls the wire down
	}
	copy(answer, pad[:])
	return nil
}

// Resistor is a MAX31865 with a PT100 in the bath, 430 ohm beside it.
func (b *Bath) Resistor() conn.Conn { return resistor{b} }

type resistor struct{ bath *Bath }

func (resistor) String() string { return "SPI" }

func (resistor) Duplex() conn.Duplex { return conn.Full }

// Tx writes registers where bit 7 of the address is set, and reads them else.
func (r resistor) Tx(w, answer []byte) error {
	celsius, err := r.bath.celsius()
	r.bath.mu.Lock()
	defer r.bath.mu.Unlock()
	all := &r.bath.registers
	if w[0]&0x80 == 0 {
		copy(answer[1:], all[w[0]:])
		return nil
	}
	copy(all[w[0]&7:], w[1:])
	const convert, searchBits, clears = 0x20, 0x0C, 0x02
	if all[0]&convert != 0 {
		r.convert(all, celsius, err)
	}
	all[0] &^= convert | searchBits | clears
	return nil
}

// convert puts the ratio into registers 1 and 2 by IEC 60751: an open lead is a fault.
func (resistor) convert(all *[8]byte, celsius float64, err error) {
	ohms := 100 * (1 + 3.9083e-3*celsius - 5.775e-7*celsius*celsius)
	all[7] = 0
	if err != nil {
		ohms, all[7] = 430, 0x80
	}
	code := uint16(min(ohms/430*(1<<15), 1<<15-1)) << 1
	all[1], all[2] = byte(code>>8), byte(code)
	if err != nil {
		all[2] |= 1
	}
}
