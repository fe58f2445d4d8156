package controller

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// listed makes a list that is empty, not null, in JSON.
func listed[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (s *Station) blank() *Snapshot {
	n := Unknown()
	return &Snapshot{
		T: n, State: process.Idle.String(), Simulated: s.devices.Simulated,
		Interlock: InterlockView{AgeMS: n, Since: n}, EmergencyStop: StopView{AgeMS: n}, Ventilation: VentilationView{AgeMS: n}, Contactor: ContactorView{AgeMS: n}, Bath: BathView{n, n}, Voltmeter: VoltmeterView{Volts: n, AgeMS: n},
		Supply:     SupplyView{n, n, n, n, modeName(process.ModeUnknown), outputName(process.OutputUnknown), n},
		SafeToOpen: SafeToOpen{Volts: n, Why: "nothing has been read yet"},
		Estimates:  EstimatesView{n, n, n, n, n, n, n, n, n}, Progress: Progress{n, n, n, n},
		Waiting: []string{}, Findings: []fault.Finding{},
	}
}

// publish shows the bench as it is at the end of the tick.
func (s *Station) publish(cmd process.Command) {
	o := &s.owner
	o.published++
	next := &Snapshot{
		Tick: o.tick, Version: o.published, At: o.epoch.Add(seconds(o.at)), T: number(cmd.T), State: cmd.State.String(), state: cmd.State,
		Simulated: s.devices.Simulated, Interlock: s.interlockView(),
		EmergencyStop: s.stopView(), Ventilation: s.ventilationView(), Contactor: s.contactorView(), Supply: s.supplyView(cmd), SafeToOpen: s.safeToOpen(),
		Bath: s.bathView(), Voltmeter: s.meterView(), Waiting: listed(waiting(cmd)), Findings: s.shownFindings(), Loop: s.loopView(), Load: o.view,
		closing: o.load != nil && o.load.finish != nil && !o.load.eye.makesRoom,
	}
	next.Estimates, next.Progress = estimates(s.machine.Estimates(), cmd)
	if o.load != nil {
		next.Run = o.load.run
	}
	if cmd.Question != "" {
		next.Question = s.question(cmd)
	}
	if next.Question == nil {
		next.Question = s.eyeQuestion()
	}
	if cmd.Trip != "" {
		next.Trip = s.tripped(cmd)
	}
	s.snapshot.Store(next)
}

// showTrip shows a trip before its off is carried out: a supply that does not answer may
// take its time to confirm that, or not do it at all. It waits for nothing. With a clock
// that waits the end of the tick is the same moment.
func (s *Station) showTrip(cmd process.Command) {
	if cmd.Trip != "" && cmd.Trip != s.owner.last.Trip && !s.options.ClockWaits {
		s.publish(cmd)
	}
}

// mayStart tells why a load cannot be asked for now.
func (n *Snapshot) mayStart() error {
	if n.closing {
		return ErrClosing
	}
	return startable(n.state)
}

func (s *Station) question(cmd process.Command) *Question {
	o := &s.owner
	next := &Question{Code: cmd.Question}
	if now := s.snapshot.Load().Question; now != nil && now.Code == cmd.Question {
		next.Text = now.Text
	} else {
		next.Text, o.askedAt = s.questionText(cmd.Question), o.input.Now
	}
	next.Left = number(max(0, process.AnswerTime-(o.input.Now-o.askedAt)))
	return next
}

func (s *Station) interlockView() InterlockView {
	in := &s.owner.input
	closed := in.Interlock.OK && in.Interlock.Closed[0] && in.Interlock.Closed[1]
	channels := in.Interlock.Closed
	if !in.Interlock.OK {
		channels = [2]bool{} // what was not read is open, whatever it was before
	}
	_, since := s.machine.LidMoments()
	return InterlockView{Closed: closed, Channels: channels, AgeMS: age(in.Now, in.Interlock.At), Since: number(in.Now - since)}
}

func (s *Station) stopView() StopView {
	in := &s.owner.input.EmergencyStop
	if !in.Fitted {
		return StopView{AgeMS: Unknown()}
	}
	return StopView{Fitted: true, Pressed: !(in.OK && in.Closed[0] && in.Closed[1]), AgeMS: age(s.owner.input.Now, in.At)}
}

func (s *Station) contactorView() ContactorView {
	in := &s.owner.input.Contactor
	if !in.Fitted {
		return ContactorView{AgeMS: Unknown()}
	}
	return ContactorView{Fitted: true, Closed: !in.OK || in.Closed, AgeMS: age(s.owner.input.Now, in.At)}
}

func (s *Station) supplyView(cmd process.Command) SupplyView {
	in := &s.owner.input
	view := SupplyView{SetVolts: number(cmd.Set), LimitAmperes: number(cmd.Limit), Volts: s.volts(), Amperes: s.amperes(),
		Mode: modeName(process.ModeUnknown), Output: outputName(s.owner.output), AgeMS: Unknown()}
	if in.Reading.OK {
		s.owner.readAt = in.Reading.At
		view.Mode = modeName(in.Reading.Mode)
	}
	view.AgeMS = age(in.Now, s.owner.readAt)
	return view
}

func (s *Station) bathView() BathView {
	in := &s.owner.input
	if !in.Bath.Fitted || !in.Bath.OK {
		return BathView{Unknown(), Unknown()}
	}
	return BathView{number(in.Bath.Celsius), age(in.Now, in.Bath.At)}
}

// safeToOpen never says more than was proven: the output read off and the volts
// low, both fresh, and a contactor seen open, whose contact bleeds the cell. Waiting
// is no proof: the film keeps its charge, and an open supply does not see it.
func (s *Station) safeToOpen() SafeToOpen {
	o := &s.owner
	quiet, volts := s.machine.SafeToOpen()
	view := SafeToOpen{Volts: number(volts)}
	switch {
	case o.output != process.OutputOff:
		view.Why = "the output is not confirmed to be off"
	case !view.Volts.Known():
		view.Why = "the volts of the cell are not known"
	case !quiet:
		view.Why = "the cell is still discharging, or what is known of it is too old"
	case s.devices.Contactor == nil:
		view.Why = "not proven: discharge through the bleed lead, check with a meter"
	case s.devices.Unbled:
		view.Why = "not proven: no bleed resistor is known of; discharge through the bleed lead, check with a meter"
	case !s.contactorOpen():
		view.Why = "the contactor is not seen open"
	case !s.bled():
		view.Why = "the cell runs down through its bleed resistor"
	default:
		view.Proven, view.Why = true, "output off, contactor open for 3 s, volts low"
	}
	return view
}

// estimates are what is known of the load, and how long it still takes: nothing once the
// output is meant to be off.
func estimates(e watch.Estimates, cmd process.Command) (EstimatesView, Progress) {
	charge := number(e.Charge)
	if !e.ChargeKnown {
		charge = Unknown()
	}
	view := EstimatesView{number(e.LiveArea), number(e.LiveAreaSD), charge, number(e.ThicknessByVolts),
		number(e.ThicknessByCharge), number(e.Density), number(e.SeriesOhm), number(e.OnsetVolts), number(e.Leak)}
	if !cmd.State.Energised() {
		return view, Progress{Number(cmd.Progress), Unknown(), Unknown(), Unknown()}
	}
	return view, Progress{Number(cmd.Progress), number(e.SecondsLeft), number(e.LeastLeft), number(e.MostLeft)}
}

func (s *Station) loopView() LoopView {
	o := &s.owner
	return LoopView{Lateness: max(0, o.late), Took: unit.Seconds(o.took.Seconds()), Overruns: o.overrun,
		Dropped: s.lost(), Waiting: len(s.scribe.queue), Errors: o.errors, Late: o.lates, Long: o.longs}
}

// age in milliseconds; unknown for what was never read.
func age(now, at unit.Seconds) Number {
	if math.IsInf(float64(at), -1) {
		return Unknown()
	}
	return Number(1000 * (now - at))
}
