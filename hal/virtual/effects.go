package virtual

import (
	"math"
	"math/rand/v2"

	"anodized/hal/virtual/plant"
)

// beside is what lies across the cell because of faults, in ohm; 0 for nothing.
type beside struct{ leak, short, foreign, floor, spark float64 }

func (b *Bench) bypass() {
	leak := b.beside.leak
	if more := reciprocal(b.beside.floor) + reciprocal(b.beside.spark); more > 0 {
		leak = 1 / (more + reciprocal(leak))
	}
	b.body.Bypass(leak, b.beside.short, b.beside.foreign)
}

func reciprocal(ohms float64) float64 {
	if ohms <= 0 {
		return 0
	}
	return 1 / ohms
}

func nothing(*Bench, *armed) {}

// index is the plant's number of the part that a fault names.
func (f *armed) index() int {
	if f.Part == AllParts {
		return plant.All
	}
	return f.Part - 1
}

func loseContact(b *Bench, f *armed)   { b.body.SetContact(f.index(), false) }
func regainContact(b *Bench, f *armed) { b.body.SetContact(f.index(), true) }

// chatter draws the lengths of a chattering contact's pauses.
type chatter struct {
	*rand.Rand
	closed bool
}

func newChatter(seed uint64) chatter { return chatter{Rand: rand.New(rand.NewPCG(seed, 0x63686174))} }

const chatterSeconds = 0.2 // on average

func chatterContact(b *Bench, f *armed) float64 {
	b.body.SetContact(f.index(), b.chatter.closed)
	b.chatter.closed = !b.chatter.closed
	return math.Max(1e-3, chatterSeconds*b.chatter.ExpFloat64())
}

func growContact(b *Bench, f *armed) float64 {
	b.body.SetContactOhms(f.index(), f.Size*(b.body.Seconds()-f.since))
	return updatesSeconds
}

func cleanContact(b *Bench, f *armed) { b.body.SetContactOhms(f.index(), 0) }

func formBefore(b *Bench, f *armed) { b.body.SetFormed(f.index(), f.Size) }

func breakDown(b *Bench, f *armed) {
	b.body.EfficiencyFactor, b.body.NoiseFactor = 0.2, 3
	f.ohms = b.body.Volts() / math.Max(b.body.Amperes(), 1e-6)
	b.body.Recompute()
}

// growFloor lets a share of the current at the start flow past the film, more each second.
func growFloor(b *Bench, f *armed) float64 {
	if age := b.body.Seconds() - f.since; age > 0 && f.ohms > 0 {
		b.beside.floor = f.ohms / (f.Size * age)
	}
	pause := b.spark(f)
	b.bypass()
	return pause
}

// A film that breaks down sparks at random, always upward (common practice, no
// source; the lengths and heights are assumed).
const (
	sparkSeconds = 0.08 // that one lasts
	sparkPause   = 0.15 // between them on average
	leastSpark   = 0.1  // of the current at the start
	meanSpark    = 0.3  // above that, on average
)

// spark lights one or lets it go out, and returns how long that stays.
func (b *Bench) spark(f *armed) float64 {
	if b.beside.spark > 0 || f.ohms <= 0 {
		b.beside.spark = 0
		return math.Min(updatesSeconds*5, 1e-3+sparkPause*b.chatter.ExpFloat64())
	}
	b.beside.spark = f.ohms / (leastSpark + meanSpark*b.chatter.ExpFloat64())
	return sparkSeconds
}

func healFilm(b *Bench, _ *armed) {
	b.body.EfficiencyFactor, b.body.NoiseFactor = 1, 1
	b.beside.floor, b.beside.spark = 0, 0
	b.bypass()
}

// swapLeads hangs the parts where the plates belong. Plates of steel make gas from
// the first volts on, through the resistance of the bath; the parts grow nothing.
func swapLeads(b *Bench, f *armed) {
	b.body.SetContact(plant.All, false)
	b.beside.foreign = f.Size
	b.bypass()
}

func backLeads(b *Bench, _ *armed) {
	b.body.SetContact(plant.All, true)
	b.beside.foreign = 0
	b.bypass()
}

func droop(b *Bench, f *armed) {
	b.body.Held = math.Max(0, math.Min(1, f.Size))
	b.body.Recompute()
}

func undroop(b *Bench, _ *armed) {
	b.body.Held = 1
	b.body.Resume()
}

func (b *Bench) stick(on bool) {
	b.body.StuckOn = on && b.registers.output
	b.stuck = on
	b.body.Recompute()
}

func (b *Bench) freeze(volts, amperes bool) {
	b.link.frozen = b.reading()
	b.link.mode = b.mode()
	b.link.voltsStuck, b.link.amperesStuck = volts, amperes
}

func thaw(b *Bench, _ *armed) { b.link.voltsStuck, b.link.amperesStuck = false, false }
