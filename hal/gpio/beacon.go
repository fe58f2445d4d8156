package gpio

import (
	"fmt"

	"anodized/hal"
)

// Lamp is one output of a stack light.
type Lamp uint8

// The lamps and sounders. Colours by IEC 60204-1, from memory: red danger, yellow
// abnormal, green normal, blue a person must act, white other.
const (
	Red Lamp = iota
	Yellow
	Green
	Blue
	White
	Sounder // a fault or a question
	Chime   // the end of a load: another sound
)

// shows says which lamps a signal lights, of those that are fitted.
var shows = map[hal.Signal][]Lamp{
	hal.SignalOff:       {},
	hal.SignalReady:     {Green},
	hal.SignalEnergised: {White},
	hal.SignalFinished:  {Green, Chime},
	hal.SignalQuestion:  {Blue, Sounder},
	hal.SignalTrip:      {Red, Sounder},
}

// Beacon is a stack light and its sounders. Yellow is for a bench that shows energised
// with it, where it has no white.
type Beacon struct {
	lines Lines
	lamps []Lamp
}

// BeaconRequest asks for the lines of the lamps, all dark.
func BeaconRequest(names []string, activeLow bool) Request {
	r := Request{Consumer: "anodized beacon"}
	for _, name := range names {
		r.Lines = append(r.Lines, Line{Name: name, Output: true, ActiveLow: activeLow})
	}
	return r
}

// NewBeacon returns the beacon on the lines of a [BeaconRequest], its lamps in the
// same order.
func NewBeacon(lines Lines, lamps []Lamp) *Beacon { return &Beacon{lines, lamps} }

// Show lights what a signal means, and nothing else, in one call.
func (b *Beacon) Show(s hal.Signal) error {
	lit, known := shows[s]
	if !known {
		return fmt.Errorf("show signal %d: %w", s, hal.ErrRange)
	}
	return b.set(b.bits(lit))
}

func (b *Beacon) bits(lit []Lamp) (bits uint64) {
	white := b.has(White)
	for _, lamp := range lit {
		if lamp == White && !white {
			lamp = Yellow
		}
		for i, fitted := range b.lamps {
			if fitted == lamp {
				bits |= 1 << i
			}
		}
	}
	return bits
}

func (b *Beacon) has(lamp Lamp) bool {
	for _, fitted := range b.lamps {
		if fitted == lamp {
			return true
		}
	}
	return false
}

// Halt puts everything out.
func (b *Beacon) Halt() error { return b.set(0) }

func (b *Beacon) set(bits uint64) error {
	if err := b.lines.Set(1<<len(b.lamps)-1, bits); err != nil {
		return fmt.Errorf("set the stack light: %w", err)
	}
	return nil
}
