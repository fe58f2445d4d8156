package gpio

import (
	"context"
	"fmt"
	"sync"
	"time"

	"anodized/hal"
)

// closesAfter is how long a contact must stand still before it is believed closed:
// longer than a switch bounces (common practice, no source).
const closesAfter = 20 * time.Millisecond

// contacts are one or two contacts of a switch: closed is safe.
type contacts struct {
	lines Lines
	count int

	mu    sync.Mutex
	moved [2]time.Time // when each was last open or moved
	spans [2]span      // of their last openings
	gone  error
}

// read reads the levels of all contacts in one call. One contact speaks for both
// channels.
func (c *contacts) read(ctx context.Context) (hal.Channels, error) {
	if err := ctx.Err(); err != nil {
		return hal.Channels{}, err
	}
	bits, err := c.lines.Values()
	now := time.Now()
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.gone != nil {
		err = c.gone
	}
	if err != nil {
		c.moved = [2]time.Time{now, now}
		return hal.Channels{}, err
	}
	channels := hal.Channels{At: now}
	for i := range channels.Closed {
		closed := bits>>min(i, c.count-1)&1 == 1
		if !closed {
			c.moved[i] = now
		}
		channels.Closed[i] = closed && now.Sub(c.moved[i]) >= closesAfter
		if channels.Closed[i] {
			channels.Opened[i] = c.spans[min(i, c.count-1)].open()
		}
	}
	return channels, nil
}

// move notes an edge of one contact.
func (c *contacts) move(edge Edge) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if line := edge.Line; line >= 0 && line < len(c.moved) {
		c.moved[line] = time.Now()
		c.spans[line].move(edge)
	}
}

// moveAll notes that edges were lost, and why there will be no more, if so.
func (c *contacts) moveAll(gone error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := time.Now()
	c.moved, c.spans = [2]time.Time{now, now}, [2]span{}
	if gone != nil {
		c.gone = gone
	}
}

// Wiring is how a contact is wired to its input. A loose wire must read as open: a
// contact that closes to the supply reads high and has a pull-down, one that closes to
// ground reads low and has a pull-up, inside the chip or outside of it.
type Wiring struct {
	ClosedLow bool
	Bias      Bias
}

// Check refuses a pull that makes a loose wire read as closed.
func (w Wiring) Check() error {
	if w.ClosedLow && w.Bias == BiasPullDown || !w.ClosedLow && w.Bias == BiasPullUp {
		return fmt.Errorf("this pull makes a loose wire read as a closed contact: %w", hal.ErrRange)
	}
	return nil
}

func (w Wiring) input(name string, edges bool) Line {
	return Line{Name: name, ActiveLow: w.ClosedLow, Bias: w.Bias, Edges: edges}
}
