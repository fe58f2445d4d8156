package controller

import (
	"math"
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
)

// owner is what only the goroutine of Run touches.
type owner struct {
	epoch     time.Time // of the first tick; seconds count from here
	begun     bool
	at        unit.Seconds // of the last tick, as the pacer told it
	tick      uint64
	published uint64 // snapshots so far
	late      unit.Seconds
	away      unit.Seconds // how much of that no exchange of the last tick explains
	woke      unit.Seconds // when this computer last ran again after it stood still
	stoodFor  unit.Seconds // how long it did in an exchange of this tick
	took      time.Duration
	overrun   uint64
	lates     Times // how late the ticks were, and how long they took
	longs     Times
	errors    Errors

	input process.Input
	last  process.Command

	readAt      unit.Seconds // of the last reading of the supply
	output      process.Output
	outputAt    unit.Seconds // when the supply last told
	checkedAt   unit.Seconds
	set         held[unit.Volts]
	limit       held[unit.Amperes]
	onSent      bool          // energising was tried since the output was last to be off
	link        fault.Code    // what carrying out the last tick found
	protected   bool          // the supply's own over-voltage trip is set for this load
	timer       hostTimer     // the supply's own lost-host timer
	timerError  error         // why it was not armed when that was last tried
	troubled    bool          // an exchange with the supply failed in this tick
	period      time.Duration // of a tick, as the link carries it
	pace        process.Pace
	traffic     traffic              // of the link, as measured for this load
	lagging     float64              // how much of the last ticks the setpoint had to stand still for lateness
	lagged      bool                 // and that this was told
	airAt       unit.Seconds         // when the airflow switch last proved that the air moves
	airError    error                // why it could not be read in this tick
	lidError    error                // why the lid could not be read in this tick
	stopError   error                // and the emergency stop
	supplyError error                // why there was no reading when last asked; nil where there was one
	seen        map[fault.Code]sight // what was seen of a fault in this load
	tripped     *record.Trip         // the trip of this load, with what was seen
	reclosed    reclosed             // what the lid switch tells of an opening that is over
	signal      hal.Signal           // that the beacon shows
	shown       bool                 // and that it took it
	keeping     keeping              // what was told of the record and the clock in this load
	wall        wallClock            // the label beside the time
	warmth      warmth               // which readings of the bath are readings
	openSince   unit.Seconds         // the contactor is seen open since then; NaN while it is not
	alarm       alarm                // at which a reading becomes too old
	fetched     bool                 // somebody opened the lid since the last load ended
	offFailed   bool                 // the last off was not confirmed
	lowered     bool                 // and a supply that cannot be set to zero is at its least
	dropping    *drop                // the last that the contactor was told; nil before

	load         *load
	view         *Load // what runs, or ran last
	stopWhy      string
	findings     []fault.Finding
	trip         fault.Code
	tripAt       unit.Seconds // of the run
	progressedAt unit.Seconds
	askedAt      unit.Seconds // when the open question was first shown
}

// held is a value that the supply has confirmed to hold.
type held[Q unit.Volts | unit.Amperes] struct {
	known bool
	steps int64 // as asked, in steps of the supply
	value Q     // as read back
}

func newOwner() owner {
	never := unit.Seconds(math.Inf(-1))
	o := owner{readAt: never, checkedAt: never, outputAt: never, progressedAt: never}
	o.input.Interlock.At, o.input.Reading.At, o.input.Held.At, o.input.Bath.At = never, never, never, never
	o.input.Contactor.At, o.input.EmergencyStop.At, o.input.Meter.At = never, never, never
	o.input.Ventilation.At, o.airAt, o.woke = never, never, never
	o.openSince = unit.Seconds(math.NaN())
	o.warmth.since = unit.Seconds(math.NaN())
	return o
}

// since turns a time of the pacer's clock into seconds.
func (o *owner) since(t time.Time) unit.Seconds {
	return unit.Seconds(t.Sub(o.epoch).Seconds())
}

// clock takes the time of a new tick and counts how late it is, after a tick that spent
// so much on exchanges.
func (o *owner) clock(at time.Time, spent time.Duration) {
	period := o.period
	if !o.begun {
		o.begun, o.epoch = true, at
	}
	now := o.since(at)
	o.tick++
	if o.tick > 1 {
		o.late = now - o.at - unit.Seconds(period.Seconds())
		o.away = o.late - unit.Seconds(spent.Seconds())
	}
	if o.stoodFor = 0; o.away > unit.Seconds(period.Seconds()) {
		o.woke, o.stoodFor = now, o.away
	}
	if o.late > unit.Seconds(period.Seconds())/2 {
		o.overrun++
	}
	o.at = now
	o.input.Now = max(now, o.input.Now)
}

// forget makes both setpoints unknown, so that they are sent and read back again.
func (o *owner) forget() {
	o.set.known, o.limit.known = false, false
}

func seconds(q unit.Seconds) time.Duration { return time.Duration(float64(q) * float64(time.Second)) }
