package gpio

import (
	"context"
	"fmt"
	"io"
	"time"

	"anodized/hal"
)

// Bias is the pull of an input, inside the chip.
type Bias uint8

// The biases. BiasNone switches the pull off: the wiring has its own.
const (
	BiasNone Bias = iota
	BiasPullUp
	BiasPullDown
)

// Line is one line as it is asked for.
type Line struct {
	Name      string // its label, or its number
	ActiveLow bool   // low is active
	Bias      Bias   // of an input
	Edges     bool   // of an input: tell both edges
	Output    bool
	First     bool // of an output: active from the first moment on
}

// Request is lines that are asked for together.
type Request struct {
	Consumer string // who has them, for those who list lines; 31 characters at most
	Lines    []Line
}

// Edge is one movement of one line.
type Edge struct {
	Line     int           // its place in the request
	Active   bool          // it became active
	Sequence uint32        // over all lines of the request, from 1
	At       time.Duration // the kernel's monotonic clock
}

// Lines are lines of one request. Bit n stands for the n-th of them.
type Lines interface {
	// Values reads all of them in one call.
	Values() (uint64, error)
	// Set drives those of the mask, all in one call.
	Set(mask, bits uint64) error
	// Edges waits for at least one edge, or for the end of the context.
	Edges(ctx context.Context, into []Edge) (int, error)
}

// Requested are lines that their owner can give back.
type Requested interface {
	Lines
	io.Closer
}

// Chip is an open chip. Requested lines outlive its Close.
type Chip interface {
	// Has tells whether it has a line of this label or number.
	Has(name string) (bool, error)
	Request(r Request) (Requested, error)
	io.Closer
}

// mostLines is how many lines one request may have.
const mostLines = 64

func (r Request) check() error {
	if len(r.Lines) == 0 || len(r.Lines) > mostLines {
		return fmt.Errorf("%d lines in one request: 1 to %d are needed: %w", len(r.Lines), mostLines, hal.ErrRange)
	}
	for i, line := range r.Lines {
		for _, other := range r.Lines[:i] {
			if line.Name == other.Name {
				return fmt.Errorf("line %q is asked for twice: %w", line.Name, hal.ErrRange)
			}
		}
	}
	return nil
}
