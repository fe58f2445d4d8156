package gpio

import (
	"context"
	"errors"
	"fmt"

	"anodized/hal"
)

// Interlock is a lid switch with two channels on two lines of one chip. It has
// hal.Changer.
type Interlock struct {
	contacts contacts
	changed  chan struct{}
	sequence uint32 // of the last edge, 0 before the first
}

// InterlockRequest asks for both channels together, with both edges.
func InterlockRequest(names [2]string, w Wiring) Request {
	return Request{Consumer: "anodized lid switch", Lines: []Line{w.input(names[0], true), w.input(names[1], true)}}
}

// NewInterlock returns the lid switch on the lines of an [InterlockRequest]. Edges
// are told while [Interlock.Watch] runs.
func NewInterlock(lines Lines) *Interlock {
	return &Interlock{contacts: contacts{lines: lines, count: 2}, changed: make(chan struct{}, 1)}
}

// Channels reads both channels in one call. A channel that opened is open at once;
// it is closed again after 20 ms without a movement.
func (i *Interlock) Channels(ctx context.Context) (hal.Channels, error) {
	channels, err := i.contacts.read(ctx)
	if err != nil {
		return hal.Channels{}, fmt.Errorf("read the lid switch: %w", err)
	}
	return channels, nil
}

// Changed tells of every edge.
func (i *Interlock) Changed() <-chan struct{} { return i.changed }

// Watch takes edges until the context ends. Where no more edges can come, the lid
// counts as unreadable from then on.
func (i *Interlock) Watch(ctx context.Context) {
	var edges [16]Edge
	for {
		n, err := i.contacts.lines.Edges(ctx, edges[:])
		if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
			return
		}
		for _, edge := range edges[:n] {
			i.take(edge)
		}
		if err != nil {
			i.contacts.moveAll(fmt.Errorf("no more edges: %w", err))
			i.tell()
			return
		}
		if n > 0 {
			i.tell()
		}
	}
}

// take notes one edge. A gap before it means that edges were lost, of any line.
func (i *Interlock) take(edge Edge) {
	if edge.Sequence != i.sequence+1 {
		i.contacts.moveAll(nil)
	}
	i.sequence = edge.Sequence
	i.contacts.move(edge)
}

func (i *Interlock) tell() {
	select {
	case i.changed <- struct{}{}:
	default: // one that was not taken yet stands for this one too
	}
}
