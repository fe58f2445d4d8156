package hal

import (
	"context"
	"strings"
	"time"

	"anodized/hal/unit"
)

// Channels are the two contacts of the lid switch. Closed means safe. Opened is for the
// record, and nothing is decided from it: for how long each that is closed now was open when
// it was last open, bouncing included; 0 where its edges were not timed.
type Channels struct {
	Closed [2]bool
	At     time.Time // monotonic
	Opened [2]time.Duration
}

// Interlock reads both channels in one exchange. Any error means open.
type Interlock interface {
	Channels(ctx context.Context) (Channels, error)
}

// Thermometer returns its latest reading and when it was taken; it never waits
// for the bus.
type Thermometer interface {
	Temperature(ctx context.Context) (unit.Celsius, time.Time, error)
}

// Contactor is kept closed by Beat alone, one edge a call, from the end of a
// finished tick. Halt drops it at once where a drop line is wired, and stops the
// edges at a low level; it is idempotent and may be called from any goroutine while
// another method runs. The first Beat after it takes the drop back. Closed tells
// what the mirror contact says; an error means that nobody knows.
type Contactor interface {
	Beat() error
	Closed(ctx context.Context) (bool, error)
	Halt() error
}

// Clearer is an optional ability of a [Contactor]: where Clears is true, Halt clears the
// one-shot at once, and what is still closed soon after hangs. Else Halt only ends the
// pulses, and the one-shot takes its time.
type Clearer interface{ Clears() bool }

// Voltmeter is an independent meter across the cell.
type Voltmeter interface {
	Voltage(ctx context.Context) (unit.Volts, time.Time, error)
}

// Signal is what the stack light and the sounder show.
type Signal uint8

// The signals, from calm to urgent.
const (
	SignalOff Signal = iota
	SignalReady
	SignalEnergised
	SignalFinished
	SignalQuestion
	SignalTrip
)

// Beacon shows a signal to the room. It is never part of safety.
type Beacon interface {
	Show(s Signal) error
	Halt() error
}

// Spectrum is one measurement of a colour sensor, relative to its white reference.
type Spectrum struct {
	Nanometres  []unit.Nanometres
	Reflectance []float64
	At          time.Time
}

// ColourSensor measures the reflectance of a part. It advises; it stops nothing.
type ColourSensor interface {
	Measure(ctx context.Context) (Spectrum, error)
}

func containsFold(s, sub string) bool {
	return strings.Contains(strings.ToUpper(s), strings.ToUpper(sub))
}
