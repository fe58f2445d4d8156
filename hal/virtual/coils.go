package virtual

import (
	"fmt"
	"math"

	"anodized/hal"
)

// The coils of the module: those of the contactor, and then those of the stack light.
const (
	PulseCoil = iota // a rising edge starts the one-shot anew
	DropCoil         // 0 clears it at once
	FirstLamp        // red, yellow, green, blue, white, sounder, chime
	lampCount = 7
)

// The discrete inputs of the module besides the two of the lid.
const (
	StopInput   = 2 // and the next one
	MirrorInput = 4 // 1 while the power contacts are open
	AirInput    = 5 // 1 while the airflow switch is closed
)

// Coil tells what a coil holds; false where there is none. It must be used inside
// [Bench.Exchange].
func (b *Bench) Coil(number int) (on, there bool) {
	switch {
	case b.lamp(number) != nil:
		return *b.lamp(number), true
	case !b.setup.Chain || number < 0 || number >= FirstLamp:
		return false, false
	case number == PulseCoil:
		return b.chain.pulse, true
	}
	return !b.chain.dropped, true
}

// SetCoil sets a coil. It must be used inside [Bench.Exchange].
func (b *Bench) SetCoil(number int, on bool) error {
	c := &b.chain
	switch {
	case b.lamp(number) != nil:
		*b.lamp(number) = on
	case c.unread:
		return fmt.Errorf("setting coil %d: %w", number, hal.ErrGone)
	case number == DropCoil:
		if c.dropped = !on; c.dropped {
			c.until = math.Inf(-1)
		}
	default:
		if on && !c.pulse && !c.dropped { // a cleared one-shot hears no edge
			c.until = b.body.Seconds() + oneShot
		}
		c.pulse = on
	}
	return nil
}

// lamp is a coil of the stack light; nil where the bench has none, or it is no lamp.
func (b *Bench) lamp(number int) *bool {
	if !b.setup.Beacon || number < FirstLamp || number >= FirstLamp+lampCount {
		return nil
	}
	return &b.lamps[number-FirstLamp]
}

// Lamps are what of the stack light is lit: red, yellow, green, blue, white, sounder, chime.
func (b *Bench) Lamps() [lampCount]bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.lamps
}

// ModuleInputs are the discrete inputs from a number on: lid, emergency stop, mirror
// contact, airflow switch. One that cannot be read is an error for whoever asks for it,
// one before the last with nothing wired to it reads 0. It must be used inside
// [Bench.Exchange].
func (b *Bench) ModuleInputs(first, count int) ([]bool, error) {
	lid, stop := b.lid.closed(), b.chain.stop.closed()
	all := []bool{lid[0], lid[1], stop[0], stop[1], !b.chain.closed, !b.air.still}
	switch {
	case b.setup.Ventilation && !b.setup.Chain:
		clear(all[StopInput:AirInput])
	case !b.setup.Ventilation && b.setup.Chain:
		all = all[:AirInput]
	case !b.setup.Ventilation:
		all = all[:StopInput]
	}
	for number := first; number < first+count && number < len(all); number++ {
		gone := number < StopInput && b.lid.gone || number == MirrorInput && b.chain.unread || number == AirInput && b.air.gone ||
			number >= StopInput && number < MirrorInput && b.chain.stop.gone
		if gone {
			return nil, fmt.Errorf("reading input %d: %w", number, hal.ErrGone)
		}
	}
	return all, nil
}
