package virtual

import (
	"math"

	"anodized/hal"
	"anodized/hal/virtual/plant"
)

// registers are what the supply holds, whatever its output does.
type registers struct {
	set, limit float64 // V, A
	protection float64 // V, of its own over-voltage trip
	output     bool
	tripped    string // "", over-voltage, over-temperature
	restarted  bool
	errors     []int   // numbers of the standard's error list
	deaf       bool    // does not take new setpoints
	frozen     bool    // takes them, and the output stays
	clings     bool    // does not take the word for off
	most       float64 // V, above which setpoints are silently held there; 0: none

	overcurrent, overSince, tripDelay float64 // A, s of the bench, s
	overcurrentArmed                  bool
	lostHost                          bool    // off after so long without a command
	lostHostAfter, heardAt            float64 // s, s of the bench
	panelLocked                       bool
}

const (
	mostErrors    = 16
	queueOverflow = -350
)

// link is what stands between the computer and the devices.
type link struct {
	silent, gone, garbage, noReading bool
	cut, doubled, merged             bool    // how an answer is spoilt, beside garbage
	late                             float64 // s
	voltsStuck, amperesStuck         bool
	frozen                           plant.Reading
	mode                             hal.Mode
	warmthSilent, warmthStuck        bool
	warmth                           float64 // °C
}

// setVolts writes the setpoint register.
func (b *Bench) setVolts(volts float64) {
	if b.registers.deaf {
		return
	}
	if b.registers.most > 0 {
		volts = min(volts, b.registers.most)
	}
	if volts > b.registers.set {
		b.roseAt = b.body.Seconds()
	}
	b.registers.set = volts
	b.command()
}

func (b *Bench) setLimit(amperes float64) {
	if b.registers.deaf {
		return
	}
	b.registers.limit = amperes
	b.stays.setUp(b, amperes)
	b.command()
}

func (b *Bench) command() {
	dead := b.stuck && !b.registers.output // a shorted output stage obeys nothing
	if !b.registers.frozen && !dead {
		b.body.Command(b.registers.set, b.registers.limit)
	}
}

// switchOutput writes the output register; a tripped supply stays off.
func (b *Bench) switchOutput(on bool) {
	if !on && b.registers.clings {
		return
	}
	on = on && b.registers.tripped == ""
	if on && !b.energised {
		b.energised, b.onAt, b.roseAt = true, b.body.Seconds(), b.body.Seconds()
	}
	if on && b.stuck {
		b.body.StuckOn = true
	}
	if b.registers.output && !on {
		b.offAt = b.body.Seconds()
	}
	b.registers.output = on
	b.body.Switch(on)
}

// turnKnob is a hand on the panel: the setpoint moves, nobody is told.
func (b *Bench) turnKnob(volts float64) {
	b.registers.set = math.Max(0, math.Min(float64(b.setup.HighestVolts), b.registers.set+volts))
	b.command()
}

// queue keeps an error of the supply's own. When there is no more room, the newest one
// becomes -350.
func (b *Bench) queue(code int) {
	if len(b.registers.errors) == mostErrors {
		b.registers.errors[mostErrors-1] = queueOverflow
		return
	}
	b.registers.errors = append(b.registers.errors, code)
}

// reading is what the supply's meter shows now.
func (b *Bench) reading() plant.Reading {
	r := b.body.Read()
	if b.link.voltsStuck {
		r.Volts = b.link.frozen.Volts
	}
	if b.link.amperesStuck {
		r.Amperes = b.link.frozen.Amperes
	}
	return r
}

func (b *Bench) mode() hal.Mode {
	switch {
	case b.link.voltsStuck && b.link.amperesStuck:
		return b.link.mode
	case !b.body.Powered():
		return hal.ModeOff
	case b.body.Held < 1:
		return hal.ModeUnregulated
	case b.body.Limited():
		return hal.ModeConstantCurrent
	default:
		return hal.ModeConstantVoltage
	}
}
