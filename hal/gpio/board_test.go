package gpio

import (
	"context"
	"fmt"
	"sync"
	"time"

	"anodized/hal"
)

// board is a chip in memory with the electronics around it: what is asked of it and
// what its lines do is written down.
type board struct {
	mu       sync.Mutex
	asked    []Request
	levels   uint64 // of the one request, logical
	gone     error
	said     []string
	events   chan []Edge // what the kernel has kept
	sequence uint32
	driven   func(mask, bits uint64)
}

func newBoard() *board { return &board{events: make(chan []Edge, 4096)} }

// request gives lines their first levels.
func (b *board) request(r Request) Lines {
	b.asked = append(b.asked, r)
	for i, line := range r.Lines {
		if line.Output && line.First {
			b.levels |= 1 << i
		}
	}
	return b
}

func (b *board) Values() (uint64, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.levels, b.gone
}

func (b *board) Set(mask, bits uint64) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.gone != nil {
		return b.gone
	}
	b.levels = b.levels&^mask | bits&mask
	b.said = append(b.said, fmt.Sprintf("%b/%b", bits&mask, mask))
	if b.driven != nil {
		b.driven(mask, bits)
	}
	return nil
}

func (b *board) Edges(ctx context.Context, into []Edge) (int, error) {
	select {
	case <-ctx.Done():
		return 0, ctx.Err()
	case edges, open := <-b.events:
		if !open {
			return 0, fmt.Errorf("%w: unplugged", hal.ErrGone)
		}
		return copy(into, edges), nil
	}
}

// input moves one line from outside, and tells the kernel's reader.
func (b *board) input(line int, active bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	was := b.levels>>line&1 == 1
	if was == active {
		return
	}
	b.levels ^= 1 << line
	b.sequence++
	b.events <- []Edge{{Line: line, Active: active, Sequence: b.sequence, At: time.Duration(time.Now().UnixNano())}}
}

// loseEdges drops what was kept, as a full buffer of the kernel does.
func (b *board) loseEdges(count uint32) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.sequence += count
}

func (b *board) unplug() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.gone = fmt.Errorf("%w: no such device", hal.ErrGone)
}

// coil is a one-shot with a contactor behind a board's lines 0 and 1, its mirror
// contact on line 2.
type coil struct {
	board   *board
	clock   func() time.Time
	pulse   bool
	cleared bool
	until   time.Time // the one-shot lapses
	welded  bool
}

const shot = time.Second

func newCoil(b *board) *coil {
	c := &coil{board: b, clock: time.Now, cleared: b.levels&dropBit != 0}
	b.driven = c.drive
	c.mirror()
	return c
}

// drive is the electronics: a rising pulse starts the one-shot unless it is cleared.
func (c *coil) drive(mask, bits uint64) {
	rose := mask&pulseBit != 0 && bits&pulseBit != 0 && !c.pulse
	if mask&pulseBit != 0 {
		c.pulse = bits&pulseBit != 0
	}
	if mask&dropBit != 0 {
		c.cleared = bits&dropBit != 0
	}
	switch {
	case c.cleared:
		c.until = time.Time{}
	case rose:
		c.until = c.clock().Add(shot)
	}
	c.mirror()
}

func (c *coil) power() bool { return c.welded || c.clock().Before(c.until) }

func (c *coil) mirror() {
	c.board.levels &^= mirrorBit
	if !c.power() {
		c.board.levels |= mirrorBit
	}
}
