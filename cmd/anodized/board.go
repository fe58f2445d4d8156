package main

import (
	"context"
	"sync/atomic"
	"time"

	"anodized/hal/hwmon"
)

// boardEvery is how often the board is asked: its driver looks every two seconds itself.
const boardEvery = 2 * time.Second

// board keeps what the monitor of this computer said last, since asking may wait.
type board struct {
	folder string
	low    atomic.Bool
}

// newBoard asks once. A load in simulated time is none of the board's business.
func newBoard(e env, simulatedTime bool) *board {
	b := &board{folder: e.hwmon}
	if simulatedTime {
		b.folder = ""
	}
	b.look()
	return b
}

func (b *board) look() { b.low.Store(b.folder != "" && hwmon.UnderVoltage(b.folder)) }

func (b *board) underVoltage() bool { return b.low.Load() }

// watch asks again until it is told to end.
func (b *board) watch(ctx context.Context) { lookAgain(ctx, boardEvery, b.look) }

// lookAgain looks each period until it is told to end.
func lookAgain(ctx context.Context, period time.Duration, look func()) {
	again := time.NewTicker(period)
	defer again.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-again.C:
			look()
		}
	}
}
