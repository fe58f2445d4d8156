package modbus

import (
	"context"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"anodized/hal"
)

// contacts are one or two discrete inputs that are read in one request, so that they
// belong to one moment.
type contacts struct {
	device
	name    string
	request []byte
	offsets []int // of the contacts in the answer
	busy    atomic.Bool
}

func (c *contacts) at(name string, inputs []int) {
	low, high := slices.Min(inputs), slices.Max(inputs)
	c.name, c.request = name, reading(readDiscreteInputs, low, high-low+1)
	c.offsets = nil
	for _, input := range inputs {
		c.offsets = append(c.offsets, input-low)
	}
}

// read reads the contacts; a single one says the same on both channels.
func (c *contacts) read(ctx context.Context) (hal.Channels, error) {
	if !c.busy.CompareAndSwap(false, true) {
		return hal.Channels{}, fmt.Errorf("read the %s: a second call while one is under way", c.name)
	}
	defer c.busy.Store(false)
	if err := ctx.Err(); err != nil {
		return hal.Channels{}, fmt.Errorf("read the %s: %w", c.name, err)
	}
	asked := time.Now()
	answer, err := c.exchange(ctx, c.request)
	if err != nil {
		return hal.Channels{}, fmt.Errorf("read the %s: %w", c.name, err)
	}
	channels := hal.Channels{At: asked.Add(time.Since(asked) / 2)}
	for n := range channels.Closed {
		channels.Closed[n] = bit(answer[2:], c.offsets[min(n, len(c.offsets)-1)])
	}
	return channels, nil
}
