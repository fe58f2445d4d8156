package main

import (
	"sync/atomic"

	"anodized/controller"
	"anodized/controller/web"
)

// racked is the Station of an embedded bench: a start, and an acknowledgement, calls the
// person, who opens the lid, changes the rack and closes the lid, as somebody at a real
// bench would.
type racked struct {
	*controller.Station
	nextRack func()
	hung     atomic.Bool // a rack hangs that was not energised yet
}

// freshFor is how long after the lid's closing a rack still waits for a start, in
// seconds: a little less than the process allows.
const freshFor = 150

// served is the Station as the windows see it.
func (d *daemon) served() web.Station {
	if d.nextRack == nil {
		return d.station
	}
	r := &racked{Station: d.station, nextRack: d.nextRack}
	events, _ := d.station.Subscribe(eventsWait) // until the Station ends
	go r.follow(events)
	return r
}

const eventsWait = 1000

// follow notes when the rack that hangs is energised: then the next load needs another.
func (r *racked) follow(events <-chan controller.Event) {
	for ev := range events {
		if ev.Kind == controller.KindState && ev.State == "contact-check" {
			r.hung.Store(false)
		}
	}
}

// Start asks for a load, and calls for its rack unless one waits for it.
func (r *racked) Start(request controller.Request) error {
	request.LidFirst = false // this start is what moves the lid
	if err := r.Station.Start(request); err != nil {
		return err
	}
	since := float64(r.Snapshot().Interlock.Since)
	if waits := r.hung.Swap(true); !waits || since > freshFor {
		r.nextRack()
	}
	return nil
}

// Acknowledge says that somebody has seen the trip, and calls the person to look at the
// rack where none has since: without a lid that opens no trip would ever be cleared.
func (r *racked) Acknowledge(who string) error {
	if err := r.Station.Acknowledge(who); err != nil {
		return err
	}
	if !r.hung.Swap(true) {
		r.nextRack()
	}
	return nil
}
