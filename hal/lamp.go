package hal

import (
	"fmt"
	"slices"
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
var shows = map[Signal][]Lamp{
	SignalOff:       {},
	SignalReady:     {Green},
	SignalEnergised: {White},
	SignalFinished:  {Green, Chime},
	SignalQuestion:  {Blue, Sounder},
	SignalTrip:      {Red, Sounder},
}

// Lit tells which of the fitted lamps a signal lights: bit n for the n-th of them. Yellow
// stands for white on a stack light that has none.
func (s Signal) Lit(fitted []Lamp) (bits uint64, err error) {
	lit, known := shows[s]
	if !known {
		return 0, fmt.Errorf("show signal %d: %w", s, ErrRange)
	}
	white := slices.Contains(fitted, White)
	for _, lamp := range lit {
		if lamp == White && !white {
			lamp = Yellow
		}
		for i, one := range fitted {
			if one == lamp {
				bits |= 1 << i
			}
		}
	}
	return bits, nil
}
