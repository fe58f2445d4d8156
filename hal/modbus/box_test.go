package modbus

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"
)

// box is a supply as its maker might build it: tables of registers with a little life
// behind them, over either framing. It was written after the specification, not after
// the driver.
type box struct {
	mu       sync.Mutex
	framing  Framing
	unit     byte
	identity []string
	hold     map[int]uint16 // holding registers: 0 volts, 1 amperes, 2 output
	clampAt  uint16         // 0: none
	least    [2]uint16      // it takes no less in its first two registers
	ohms     float64
	stuck    bool   // its output register does not take the word for off
	lives    bool   // its status goes on saying that it is on
	tripped  uint16 // status bits
	reading  []uint16
	exception,
	times int // the next writes are refused with this exception
	silent       bool
	silentSupply bool // all but the module, and what finds the step of the line
	deafTo       byte // a function that is not even refused
	deafFor      int  // so many times, then it is answered; 0: always
	cut          bool
	heard        []string
	lacks        map[byte]bool // functions that it does not know
	fault        func(far *wire, answer []byte)
	free         time.Time // it is busy until then, and answers one question after the other
	current      *wire
	partial      []byte
	answered     int
	module       *module // its inputs and coils; nil: it has none
}

func newBox(framing Framing) *box {
	return &box{framing: framing, unit: 1, identity: []string{"BENCH WORKS", "PS-2 SIMULATED", "1.0"},
		hold: map[int]uint16{0: 1250, 1: 100, 2: 1}, ohms: 1e9, lacks: map[byte]bool{}}
}

func (b *box) do(change func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	change()
}

func (b *box) dial(context.Context) (Transport, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.drop()
	if b.cut {
		return nil, errors.New("no route to it")
	}
	driver, far := newWire()
	b.current, b.partial, b.free = driver, nil, time.Time{}
	go b.serve(far)
	return driver, nil
}

func (b *box) drop() {
	if b.current != nil {
		_ = b.current.Close() // a wire's Close cannot fail
	}
}

func (b *box) hangUp() { b.do(b.drop) }

func (b *box) serve(w *wire) {
	var in []byte
	chunk := make([]byte, 300)
	for {
		n, err := w.Read(chunk)
		if err != nil {
			return
		}
		in = append(in, chunk[:n]...)
		for {
			length := b.requestLength(in)
			if length == 0 || len(in) < length {
				break
			}
			frame := slices.Clone(in[:length])
			in = in[length:]
			b.do(func() { b.request(w, frame) })
		}
	}
}

// requestLength is how long the request is that begins here, 0 for not yet known.
func (b *box) requestLength(in []byte) int {
	if b.framing == TCP {
		if len(in) < 6 {
			return 0
		}
		return 6 + int(binary.BigEndian.Uint16(in[4:]))
	}
	switch {
	case len(in) < 2:
		return 0
	case in[1] == 0x10 && len(in) < 7:
		return 0
	case in[1] == 0x10:
		return 9 + int(in[6])
	case in[1] == 0x2B:
		return 7
	}
	return 8
}

func (b *box) request(w *wire, frame []byte) {
	unit, pdu := frame[0], frame[1:len(frame)-2]
	if b.framing == TCP {
		unit, pdu = frame[6], frame[7:]
	}
	b.heard = append(b.heard, fmt.Sprintf("%02X % X", unit, pdu))
	if unit != b.unit {
		return
	}
	answer := b.execute(pdu)
	if b.silent || b.silentSupply && pdu[0] != 0x02 && pdu[0] != 0x05 && pdu[0] != 0x08 || b.deaf(pdu[0]) {
		return
	}
	back := b.framing.appendFrame(nil, 0, unit, answer)
	if b.framing == TCP {
		copy(back, frame[:2])
	}
	fault := b.fault
	b.fault = nil
	b.answered++
	if fault != nil {
		fault(w, back)
		return
	}
	b.answer(w, back)
}

func (b *box) deaf(function byte) bool {
	if function != b.deafTo {
		return false
	}
	if b.deafFor--; b.deafFor == 0 {
		b.deafTo = 0
	}
	return true
}

// answer replies once it is free; it must be called with the box held.
func (b *box) answer(w *wire, frame []byte) {
	rest := time.Until(b.free)
	if rest <= 0 {
		reply(w, frame)
		return
	}
	b.free = b.free.Add(time.Microsecond) // the next one is behind this one
	time.AfterFunc(rest, func() { reply(w, frame) })
}

// late has it take its time for an answer, as a device that does one thing after the
// other: later questions wait too.
func (b *box) late(d time.Duration) func(*wire, []byte) {
	return func(w *wire, answer []byte) {
		b.free = time.Now().Add(max(0, time.Until(b.free)) + d)
		b.answer(w, answer)
	}
}

// reply sends bytes to the driver, which may have hung up.
func reply(w *wire, b []byte) { _, _ = w.Write(b) }

func later(d time.Duration) func(*wire, []byte) {
	return func(w *wire, answer []byte) { time.AfterFunc(d, func() { reply(w, answer) }) }
}

func (b *box) execute(pdu []byte) []byte {
	refuse := func(code byte) []byte { return []byte{pdu[0] | 0x80, code} }
	if b.lacks[pdu[0]] {
		return refuse(1)
	}
	switch pdu[0] {
	case 0x03, 0x04:
		return b.read(pdu, refuse)
	case 0x06:
		if code := b.write(int(binary.BigEndian.Uint16(pdu[1:])), binary.BigEndian.Uint16(pdu[3:])); code != 0 {
			return refuse(code)
		}
		return pdu
	case 0x10:
		first := int(binary.BigEndian.Uint16(pdu[1:]))
		for n := range int(binary.BigEndian.Uint16(pdu[3:])) {
			if code := b.write(first+n, binary.BigEndian.Uint16(pdu[6+2*n:])); code != 0 {
				return refuse(code)
			}
		}
		return pdu[:5]
	case 0x02, 0x05:
		if b.module == nil {
			return refuse(1)
		}
		return b.module.execute(pdu)
	case 0x08:
		return pdu
	case 0x2B:
		answer := []byte{0x2B, 0x0E, 1, 1, 0, 0, byte(len(b.identity))}
		for n, text := range b.identity {
			answer = append(append(answer, byte(n), byte(len(text))), text...)
		}
		return answer
	}
	return refuse(1)
}

func (b *box) read(pdu []byte, refuse func(byte) []byte) []byte {
	first, count := int(binary.BigEndian.Uint16(pdu[1:])), int(binary.BigEndian.Uint16(pdu[3:]))
	answer := []byte{pdu[0], byte(2 * count)}
	for address := first; address < first+count; address++ {
		word, there := b.hold[address]
		if pdu[0] == 0x04 {
			word, there = b.input(address)
		}
		if !there {
			return refuse(2)
		}
		answer = binary.BigEndian.AppendUint16(answer, word)
	}
	if pdu[0] == 0x04 {
		b.reading = nil
	}
	return answer
}

// input are five registers from 0x100 on: volts in mV, amperes in 0.1 mA, status.
func (b *box) input(address int) (uint16, bool) {
	volts, amperes := b.measured()
	v, a := uint32(int32(volts*1000+0.5)), uint32(int32(amperes*10000+0.5))
	all := []uint16{uint16(v >> 16), uint16(v), uint16(a >> 16), uint16(a), b.status()}
	copy(all, b.reading)
	if address < 0x100 || address >= 0x105 {
		return 0, false
	}
	return all[address-0x100], true
}

func (b *box) measured() (volts, amperes float64) {
	if b.hold[2] == 0 {
		return 0, 0
	}
	set, limit := float64(b.hold[0])/100, float64(b.hold[1])/100
	volts = min(set, limit*b.ohms)
	return volts, volts / b.ohms
}

func (b *box) status() uint16 {
	if b.hold[2] == 0 && b.lives {
		return b.tripped | 1<<8
	}
	if b.hold[2] == 0 {
		return b.tripped
	}
	if volts, _ := b.measured(); volts < float64(b.hold[0])/100 {
		return b.tripped | 1<<8 | 1<<1
	}
	return b.tripped | 1<<8 | 1
}

func (b *box) write(address int, word uint16) (exception byte) {
	switch {
	case b.times > 0:
		b.times--
		return byte(b.exception)
	case address > 2:
		return 2
	case address < 2 && word < b.least[address]:
		return 3
	case address == 0 && b.clampAt > 0:
		word = min(word, b.clampAt)
	case address == 2 && word == 0 && b.stuck:
		return 0
	}
	b.hold[address] = word
	return 0
}

func (b *box) lines() (lines []string) {
	b.do(func() { lines = slices.Clone(b.heard) })
	return lines
}
