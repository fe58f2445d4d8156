package controller

import (
	"context"
	"time"

	"anodized/controller/record"
	"anodized/hal"
)

// Devices are the open devices of one bench. The Station never closes them.
// Thermometer, Contactor, EmergencyStop, Ventilation, Beacon and Voltmeter are nil where the bench
// has none.
type Devices struct {
	Supply        hal.Supply
	Interlock     hal.Interlock
	Thermometer   hal.Thermometer
	Contactor     hal.Contactor
	EmergencyStop hal.EmergencyStop
	Ventilation   hal.Ventilation // an airflow switch
	Beacon        hal.Beacon
	ColourSensor  hal.ColourSensor // of no use to a load: it reads parts
	Voltmeter     hal.Voltmeter    // independent, across the cell
	MeterSettle   time.Duration    // until it shows a step; 0: 300 ms
	Unbled        bool             // no bleed resistor is known of, and nothing reads the cell's own side: never proven safe to open
	OneShot       time.Duration    // how long one pulse holds the contactor; 0: 1 s
	Simulated     bool
	Identity      hal.Identity
}

// Pacer says when the next tick is and waits for it. The time is monotonic and
// true: a late tick is reported as late, and what was missed is not made up for.
type Pacer interface {
	Next(ctx context.Context) (time.Time, error)
}

// Hastener is an optional ability of a [Pacer]: the tick that is waited for comes at once.
// Without it what must end the output waits for the next tick.
type Hastener interface{ Hasten() }

// Clock is an optional ability of a [Pacer] in real time: it tells how late it is
// between two ticks. Without it a tick is decided at the time of its beginning.
type Clock interface{ Now() time.Time }

// Paced is an optional ability of a [Pacer] with a [Clock]: its period can be changed,
// so that a slow link gets longer ticks.
type Paced interface {
	Clock
	Pace(period time.Duration)
}

// Recorder keeps the record of runs. Begin and Finish are durable when they
// return; Append and Note queue and do not wait. The Station trusts none of this:
// it calls all four from a goroutine of their own.
type Recorder interface {
	Begin(ctx context.Context, in record.Intent) (run string, err error)
	Append(row record.Row)
	Note(ev record.Event)
	Finish(ctx context.Context, res record.Result) error
}

// Faring is an optional ability of a [Recorder]: it tells how it gets on with its disk.
// It must not wait.
type Faring interface{ Health() record.Health }

// Options are what a Station needs beside its devices. Zero values mean the
// defaults that stand beside them.
type Options struct {
	Tick       time.Duration    // 100 ms
	Version    string           // of this software, for the record
	RecordWait time.Duration    // how long a start waits for the disk: 5 s
	QueueRows  int              // how many rows may wait for the recorder: 6,000, ten minutes
	WallClock  func() time.Time // labels only: time.Now
	BuildYear  int              // a wall clock before it was never set; 0: not judged

	// ClockWaits says that the pacer's clock is simulated and stands still while
	// the record is written, so that the same seed gives the same run however
	// slow the disk is. Never set it for a bench whose output is real.
	ClockWaits bool

	// UnderVoltage tells whether the board of this computer reports that it has too little
	// voltage: no load begins while it does. It must not wait; nil: not judged.
	UnderVoltage func() bool

	// Beat is called at the end of each finished tick that read the interlock, and
	// from nowhere else: it feeds the watchdogs outside. It must not wait.
	Beat func()
}

func (o Options) withDefaults() Options {
	if o.Tick <= 0 {
		o.Tick = 100 * time.Millisecond
	}
	if o.RecordWait <= 0 {
		o.RecordWait = 5 * time.Second
	}
	if o.QueueRows <= 0 {
		o.QueueRows = 6000
	}
	if o.WallClock == nil {
		o.WallClock = time.Now
	}
	return o
}
