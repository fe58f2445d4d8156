package main

import (
	"fmt"

	"anodized/hal/watchdog"
)

// armBoard arms the watchdog of the computer, where one is asked for, as late as can be:
// from here on the loop must feed it. One that is asked for and cannot be had is an
// error: what was counted on is not there.
func (d *daemon) armBoard() (*watchdog.Dog, error) {
	if d.flags.watchdog == "" {
		return nil, nil
	}
	within := d.flags.watchdogTime
	if within == 0 {
		within = watchdog.Usual
	}
	board, err := watchdog.Open(d.flags.watchdog, within, d.log)
	if err != nil {
		return nil, fmt.Errorf("%w: leave the board watchdog out, or put right what it says", err)
	}
	return board, nil
}

// beats feeds every watchdog outside from the end of a finished tick.
func beats(dog *serviceDog, board *watchdog.Dog) func() {
	if board == nil {
		return dog.beat
	}
	return func() {
		dog.beat()
		board.Beat()
	}
}
