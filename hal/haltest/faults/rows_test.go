package faults

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

var (
	overSCPI  = []string{scpiTCP, scpiSerial}
	overTCP   = []string{scpiTCP, modbusTCP}
	onBoard   = []string{converters}
	calling   = []string{inMemoryWay, converters}                      // their lid switch calls
	polled    = []string{scpiTCP, scpiSerial, modbusTCP, modbusSerial} // theirs is asked in each tick
	lostLink  = codes(fault.SupplySilent, fault.InterlockOpen)
	backAfter = 2 * time.Second
)

// another is a bench that is not the one that was plugged in first.
func (r *rig) another() *front.Front {
	f, err := front.Stand(front.Options{Setup: virtual.Setup{Seed: 9, Version: "another", Parts: spacerParts()}, Elapsed: r.elapsed, Baud: lineBaud})
	require.NoError(r.t, err)
	return f
}

// comesBack pulls the supply's cable, and has an instrument there two seconds later.
func (r *rig) comesBack(who func() *front.Front) {
	r.supply.Pull()
	r.after(r.elapsed()+backAfter, func() {
		r.heard = len(r.supply.Tap.Heard())
		r.supply.Put(r.instrument(who()))
	})
}

// since is what the supply was asked since somebody is there again. On a line with several
// units it is that of the supply that counts.
func (r *rig) since() (lines []string) {
	for _, line := range r.supply.Tap.Heard()[r.heard:] {
		if !strings.HasPrefix(line, "02 ") {
			lines = append(lines, line)
		}
	}
	return lines
}

// introduces tells whether a question is one that anybody may hear: who are you, or a
// number that is only given back.
func introduces(line string) bool {
	for _, start := range []string{"*IDN?", "01 2B", "01 08", "01 04"} {
		if strings.HasPrefix(line, start) {
			return true
		}
	}
	return false
}

func strangerIsAsked(t *testing.T, r *rig, _ seen) {
	assert.NotEmpty(t, r.since(), "somebody is there again")
	for _, line := range r.since() {
		assert.True(t, introduces(line), "a stranger is asked who it is and nothing else: %s", line)
	}
}

// itIsSwitchedOff: who is there comes first, and off before everything else.
func itIsSwitchedOff(t *testing.T, r *rig, _ seen) {
	for _, line := range r.since() {
		if introduces(line) || strings.HasPrefix(line, "*ESE ") { // a number that only a new answer fits
			continue
		}
		line, _, _ = strings.Cut(strings.TrimPrefix(line, ":"), ";")
		assert.Contains(t, []string{"OUTP OFF", "01 06 00 02 00 00"}, line)
		break
	}
	assert.False(t, r.bench.Truth().Output)
}

// says has each answer to a measurement begin with a text in place of its first number.
func says(text string) func(*rig) {
	return func(r *rig) {
		r.supply.Tap.Rewrite(func(question string, answer []byte) []byte {
			if !strings.Contains(question, "MEAS") {
				return answer
			}
			_, rest, more := bytes.Cut(answer, []byte(";"))
			if !more {
				return []byte(text + "\n")
			}
			return append([]byte(text+";"), rest...)
		})
	}
}

// wireRows are what becomes of a connection.
var wireRows = []expected{
	{hand: "unplugged, and a stranger comes back", does: func(r *rig) { r.comesBack(r.another) }, on: wires, codes: lostLink, named: true,
		within: silent, deaf: true, outcome: tripped, linger: 3 * backAfter, then: strangerIsAsked},
	{hand: "unplugged, and it comes back", does: func(r *rig) { r.comesBack(func() *front.Front { return r.front }) }, on: wires, codes: lostLink, named: true,
		within: silent, deaf: true, outcome: tripped, linger: 3 * backAfter, then: itIsSwitchedOff},
	{hand: "the connection is dropped", does: func(r *rig) { r.supply.Drop() }, on: overTCP, codes: lostLink, within: 0.35, outcome: tripped},
	{hand: "the connection breaks inside of an answer", does: func(r *rig) { r.supply.Tap.CutAnd(r.supply.Drop) }, on: overTCP, codes: lostLink, within: 0.35, outcome: tripped},
	{hand: "it says inf", does: says("inf"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says -INF", does: says("-INF"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says nan", does: says("nan"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says nothing", does: says(""), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says ERR", does: says("ERR"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says 9.91E37", does: says("9.91E37"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says -9.9E37", does: says("-9.9E37"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "it says 1E9", does: says("1E9"), on: overSCPI, codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{fault: "readback-volts-gain@20.05s,size=100", codes: codes(fault.SupplySilent, fault.OverVoltage, fault.SupplyTripped), within: silent, outcome: tripped},
	{fault: "setpoint-clamped@10V,size=10.5", codes: codes(fault.SupplyDisobeys), within: 1.1, outcome: tripped}, // half a volt at 1 V/s, and 0.5 s
	{fault: "setpoint-clamped@12V,size=10", codes: codes(fault.SupplyDisobeys), within: 0.5, outcome: tripped},   // below what it held
	// both limits go to zero where off is not obeyed
	{fault: "interlock-open@20.05s", setup: clings, codes: codes(fault.InterlockOpen), deaf: true, within: eachTick, outcome: tripped, then: starved},
}

func clings(s *virtual.Setup) {

	f, err := virtual.ParseFault("off-ignored@15V")
	if err != nil {
		panic(err)
	}
	s.Faults = append(s.Faults, f)

}

func starved(t *testing.T, r *rig, s seen) {
	r.bench.Exchange(r.elapsed(), func() {})
	assert.Less(t, r.bench.Truth().Volts, 1.0)
}

// lidRows are pulses of the lid switch. One that can call misses none.
var lidRows = []expected{
	{fault: "interlock-bounce@20.05s,for=0.1ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-bounce@20.05s,for=1ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-bounce@20.05s,for=10ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-bounce@20.05s,for=100ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-disagrees@20.05s,part=1,for=0.1ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-disagrees@20.05s,part=2,for=10ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-disagrees@20.05s,part=1,for=100ms", on: calling, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-bounce@20.05s,for=110ms", on: polled, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "interlock-disagrees@20.05s,part=1,for=110ms", on: polled, codes: codes(fault.InterlockOpen), within: eachTick, outcome: tripped},
	{fault: "emergency-stop-one-contact@20.05s", codes: codes(fault.EmergencyStop), within: eachTick, outcome: tripped, setup: chain},
}

func meter(s *virtual.Setup) { s.Voltmeter = true }

// meterRows are of the independent voltmeter: more than half a volt apart for a second ends
// a run, three tenths for five stand in its record.
var meterRows = []expected{
	{fault: "meter-offset@20.05s,size=2.5", codes: codes(fault.ReadbackDisagrees), within: 2.2, shown: 2.3, outcome: tripped, setup: meter},
	{fault: "meter-offset@20.05s,size=-2.5", codes: codes(fault.ReadbackDisagrees), within: 2.2, shown: 2.3, outcome: tripped, setup: meter},
	{fault: "meter-offset@20.05s,size=0.3", outcome: complete, flags: fault.ReadbackGain, setup: meter},
	{fault: "meter-silent@20.05s", outcome: complete, setup: meter},
}
