package gpio

import (
	"fmt"

	"anodized/hal"
)

// Beacon is a stack light and its sounders. Yellow is for a bench that shows energised
// with it, where it has no white.
type Beacon struct {
	lines Lines
	lamps []hal.Lamp
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
func NewBeacon(lines Lines, lamps []hal.Lamp) *Beacon { return &Beacon{lines, lamps} }

// Show lights what a signal means, and nothing else, in one call.
func (b *Beacon) Show(s hal.Signal) error {
	lit, err := s.Lit(b.lamps)
	if err != nil {
		return err
	}
	return b.set(lit)
}

// Halt puts everything out.
func (b *Beacon) Halt() error { return b.set(0) }

func (b *Beacon) set(bits uint64) error {
	if err := b.lines.Set(1<<len(b.lamps)-1, bits); err != nil {
		return fmt.Errorf("set the stack light: %w", err)
	}
	return nil
}
