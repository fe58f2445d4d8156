package controller

import (
	"anodized/controller/process"
	"anodized/hal"
)

// showBeacon shows the room what the bench does. It comes after everything else of
// a tick, and what comes of it changes nothing but a count.
func (s *Station) showBeacon(cmd process.Command) {
	o := &s.owner
	if s.devices.Beacon == nil {
		return
	}
	next := s.signal(cmd)
	if o.shown && next == o.signal {
		return
	}
	err := s.devices.Beacon.Show(next)
	o.shown, o.signal = err == nil, next
	if err != nil {
		o.errors.Beacon++
	}
}

// signal is what the room must know first. An output that is not known to be off
// counts as on. The end of a load is shown until somebody opens the lid.
func (s *Station) signal(cmd process.Command) hal.Signal {
	o := &s.owner
	_, ended := outcomeOf(cmd.State)
	switch {
	case cmd.State == process.Tripped:
		return hal.SignalTrip
	case cmd.Question != "":
		return hal.SignalQuestion
	case cmd.On || cmd.Close || o.output != process.OutputOff || cmd.State == process.Discharging:
		return hal.SignalEnergised
	case ended && !o.fetched:
		return hal.SignalFinished
	}
	return hal.SignalReady
}

// seeFetched notes that somebody came for the rack.
func (s *Station) seeFetched(cmd process.Command) {
	in := &s.owner.input.Interlock
	switch {
	case under(cmd.State):
		s.owner.fetched = false
	case in.OK && !in.Closed[0] && !in.Closed[1]:
		s.owner.fetched = true
	}
}
