package stand

import (
	"encoding/binary"
	"errors"
	"math"
	"sync"
	"time"

	"periph.io/x/conn/v3/physic"
)

// Spectral is an AS7341 on an I2C bus of its own, with registers, over whatever gives light
// back. Written from the same text as its driver.
type Spectral struct {
	mu     sync.Mutex
	low    [256]byte // registers below 0x80, where the bank is low: lamp and its use
	memory [20]byte  // words for the multiplexer
	active [20]byte
	high   [256]byte
	now    func() time.Time
	under  func() []float64 // shares of the white light, 415 to 680 nm; nil: nothing
	began  time.Time        // of the measurement under way; zero: none
	latch  [13]byte

	gone, stuck bool
	light       float64 // of the white reference, as a share of the range at the gain of 64
	restart     bool    // lose power in the next measurement
}

// NewSpectral is a chip that was just powered.
func NewSpectral(now func() time.Time, under func() []float64) *Spectral {
	s := &Spectral{now: now, under: under, light: 0.6}
	s.powerUp()
	return s
}

func (s *Spectral) powerUp() {
	s.low, s.high, s.memory, s.active, s.began = [256]byte{}, [256]byte{}, [20]byte{}, [20]byte{}, time.Time{}
	s.high[0x92], s.high[0xAA], s.high[0xCA], s.high[0xCB] = 0x24, 9, 0xE7, 0x03
}

// Unplug takes the chip away.
func (s *Spectral) Unplug() { s.do(func() { s.gone = true }) }

// Restart makes it lose its power while it measures next.
func (s *Spectral) Restart() { s.do(func() { s.restart = true }) }

// Jam keeps its measurements from ending.
func (s *Spectral) Jam() { s.do(func() { s.stuck = true }) }

// Shine makes the lamp so many times as bright.
func (s *Spectral) Shine(times float64) { s.do(func() { s.light *= times }) }

// Lit tells whether its lamp is on.
func (s *Spectral) Lit() (lit bool) {
	s.do(func() { lit = s.low[0x74]&0x80 != 0 && s.low[0x70]&0x08 != 0 })
	return lit
}

func (s *Spectral) do(what func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	what()
}

// String names the bus.
func (s *Spectral) String() string { return "spectral" }

// SetSpeed is for nothing here.
func (s *Spectral) SetSpeed(physic.Frequency) error { return nil }

// Tx is one transaction on the I2C bus.
func (s *Spectral) Tx(address uint16, w, r []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.gone || address != 0x39 || len(w) == 0 {
		return errors.New(noAcknowledge)
	}
	for i, value := range w[1:] {
		s.set(int(w[0])+i, value)
	}
	for i := range r {
		r[i] = s.get(int(w[0]) + i)
	}
	return nil
}

func (s *Spectral) set(register int, value byte) {
	switch {
	case register < len(s.memory):
		s.memory[register] = value
	case register < 0x80:
		if s.high[0xA9]&0x10 != 0 {
			s.low[register] = value
		}
	case register == 0x80:
		s.enable(value)
	default:
		s.high[register] = value
	}
}

func (s *Spectral) enable(value byte) {
	before := s.high[0x80]
	s.high[0x80] = value
	switch {
	case value&0x01 == 0:
		s.began = time.Time{}
	case value&0x10 != 0 && s.high[0xAF]&0x18 == 0x10:
		s.active = s.memory
	case value&0x02 != 0 && before&0x02 == 0:
		s.began = s.now()
	case value&0x02 == 0:
		s.began = time.Time{}
	}
}

func (s *Spectral) span() float64 {
	return float64(s.high[0x81]+1) * float64(int(binary.LittleEndian.Uint16(s.high[0xCA:]))+1)
}

func (s *Spectral) valid() bool {
	whole := time.Duration(s.span() * 2780)
	return !s.stuck && !s.began.IsZero() && s.now().Sub(s.began) >= whole
}

func (s *Spectral) get(register int) byte {
	switch {
	case register == 0x80:
		held := s.high[0x80]
		s.high[0x80] &^= 0x10 // the next look finds it done
		return held
	case register == 0xA3:
		if s.valid() {
			return 0x40
		}
		return 0
	case register == 0x94:
		s.count()
		return s.latch[0]
	case register > 0x94 && register <= 0xA0:
		return s.latch[register-0x94]
	case register < 0x80:
		return s.low[register]
	}
	return s.high[register]
}

// count latches what the converters have.
func (s *Spectral) count() {
	gain := s.high[0xAA] & 0x0F
	s.latch = [13]byte{gain}
	first := map[byte]int{0x42: 0, 0x00: 4}[s.active[5]]
	shares := s.under()
	for i := range 4 {
		count := 40.0
		if shares != nil && s.low[0x74]&0x80 != 0 {
			count += s.light * shares[first+i] * math.Exp2(float64(gain)-7) * s.span()
		}
		if count >= s.span() {
			s.latch[0] |= 0x80
		}
		binary.LittleEndian.PutUint16(s.latch[1+2*i:], uint16(min(count, s.span(), math.MaxUint16)))
	}
	if s.restart {
		s.restart = false
		s.powerUp()
	}
}
