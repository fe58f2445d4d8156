package front

import (
	"context"
	"math"

	"anodized/hal/virtual/scpiserver"
)

// The places of the supply's registers: setpoints and output in holding registers,
// readings and status in input registers.
const (
	volts10mV   = 0x0000
	amperes10mA = 0x0001
	output      = 0x0002

	firstReading = 0x0100 // volts in mV, amperes in 0.1 mA, 32 bits each, high word first
	statusWord   = 0x0104

	warmth01C = 0x0000 // of the remote module: the bath, in 0.1 °C
	meterMV   = 0x0010 // of the remote module: the voltmeter, in mV, 32 bits, high word first
)

// The bits of the status word.
const (
	bitVoltage = iota
	bitCurrent
	_
	_
	bitOvervoltage
	bitOvercurrent
	bitOvertemperature
	_
	bitOn
)

const (
	illegalValue  byte = 3
	deviceFailure byte = 4
	noReading          = math.MaxInt32
)

// supplyRegisters is a supply as a table of registers. It is used inside the bench's
// exchange only.
type supplyRegisters struct {
	source                   scpiserver.Source
	leastVolts, leastAmperes float64 // what is less is refused
}

// Holding is what was set.
func (s supplyRegisters) Holding(address int) (uint16, bool) {
	held := s.source.Settings()
	switch address {
	case volts10mV:
		return uint16(math.Round(held.Volts * 100)), true
	case amperes10mA:
		return uint16(math.Round(held.Amperes * 100)), true
	case output:
		if held.Output {
			return 1, true
		}
		return 0, true
	}
	return 0, false
}

// Input is what is measured.
func (s supplyRegisters) Input(address int) (uint16, bool) {
	if address == statusWord {
		return s.status(), true
	}
	if address < firstReading || address > statusWord {
		return 0, false
	}
	volts, amperes := s.source.Measure()
	value := counts(math.Max(volts, 0), 1000) // the register has no sign
	if address >= firstReading+2 {
		value = counts(amperes, 10000)
	}
	if (address-firstReading)%2 == 0 {
		return uint16(value >> 16), true
	}
	return uint16(value), true
}

// counts is a reading in counts; what is no reading is the greatest one.
func counts(value, perUnit float64) uint32 {
	if math.IsNaN(value) {
		return noReading
	}
	return uint32(int32(math.Round(value * perUnit)))
}

func (s supplyRegisters) status() (word uint16) {
	c := s.source.Condition()
	for bit, is := range map[int]bool{
		bitVoltage: c.On && !c.Limited && !c.Unregulated, bitCurrent: c.On && c.Limited, bitOn: c.On,
		bitOvervoltage: c.Overvoltage, bitOvercurrent: c.Overcurrent, bitOvertemperature: c.Overtemperature,
	} {
		if is {
			word |= 1 << bit
		}
	}
	return word
}

func beyond(value, least, most float64) bool { return value < least || value > most }

// Write checks every word before it sets any.
func (s supplyRegisters) Write(address int, words []uint16) byte {
	ratings := s.source.Ratings()
	for i, word := range words {
		switch at := address + i; {
		case at > output:
			return 2
		case at == volts10mV && beyond(float64(word)/100, s.leastVolts, ratings.Volts),
			at == amperes10mA && beyond(float64(word)/100, s.leastAmperes, ratings.Amperes),
			at == output && word > 1:
			return illegalValue
		}
	}
	for i, word := range words {
		switch address + i {
		case volts10mV:
			s.source.SetVolts(float64(word) / 100)
		case amperes10mA:
			s.source.SetAmperes(float64(word) / 100)
		case output:
			if !s.source.SwitchOutput(word == 1) {
				return deviceFailure
			}
		}
	}
	return 0
}

// Identity is that of *IDN?, without its serial number.
func (s supplyRegisters) Identity() [3]string {
	id := s.source.Identity()
	var fields [4]string
	for i, n := 0, 0; i < len(id); i++ {
		if id[i] == ',' && n < 3 {
			n++
			continue
		}
		fields[n] += id[i : i+1]
	}
	return [3]string{fields[0], fields[1], fields[3]}
}

// lidRegisters are the bath's temperature and the voltmeter on the remote module.
type lidRegisters struct {
	front *Front
	volts float64 // of the voltmeter
}

// Holding has nothing.
func (lidRegisters) Holding(int) (uint16, bool) { return 0, false }

// Input is the bath or the voltmeter; the greatest number where there is no reading.
func (l lidRegisters) Input(address int) (uint16, bool) {
	switch {
	case l.front.options.Setup.Voltmeter && address == meterMV:
		return uint16(counts(l.volts, 1000) >> 16), true
	case l.front.options.Setup.Voltmeter && address == meterMV+1:
		return uint16(counts(l.volts, 1000)), true
	case address != warmth01C:
		return 0, false
	}
	l.front.bench.Exchange(l.front.now(), func() {}) // the clock goes on
	celsius, _, err := l.front.bench.Thermometer().Temperature(context.Background())
	if err != nil {
		return math.MaxInt16, true
	}
	return uint16(int16(math.Round(float64(celsius) * 10))), true
}

// Write refuses: there is nothing to be written.
func (lidRegisters) Write(int, []uint16) byte { return 2 }

// Identity says that it is not real.
func (lidRegisters) Identity() [3]string { return [3]string{"ANODIZED", "SIMULATED INPUTS", "1"} }
