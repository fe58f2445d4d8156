package controller

import (
	"fmt"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

const progressEvery unit.Seconds = 1

// note tells the listeners, and the record of the run where one is open.
func (s *Station) note(ev Event) {
	o := &s.owner
	ev.Simulated = s.devices.Simulated
	s.listeners.send(ev)
	if one := o.load; one != nil && one.run != "" && one.finish == nil && ev.Kind != KindProgress {
		s.scribe.put(entry{note: &record.Event{T: unit.Seconds(ev.T), Kind: ev.Kind, Code: string(ev.Code),
			Text: ev.words(), Finding: ev.Finding}})
	}
}

func (e Event) words() string {
	if e.Text == "" {
		return e.State
	}
	return e.Text
}

// tell says what is new since the last tick.
func (s *Station) tell(cmd process.Command) {
	o := &s.owner
	if cmd.State != o.last.State {
		s.log.Debug("state", "from", o.last.State.String(), "to", cmd.State.String(), "t_s", float64(cmd.T))
		s.note(Event{Kind: KindState, T: number(cmd.T), State: cmd.State.String()})
		o.progressedAt = o.input.Now // what checking waits for in its first tick is no news
	}
	if cmd.Trip != "" && o.trip == "" {
		o.trip, o.tripAt, o.tripped = cmd.Trip, cmd.T, s.trip(cmd.Trip)
		trip := o.tripped
		s.note(Event{Kind: KindTrip, T: number(cmd.T), State: cmd.State.String(), Code: cmd.Trip, Text: trip.Message, Action: trip.Action})
	}
	for _, code := range (cmd.Also &^ o.last.Also).Codes() {
		s.note(Event{Kind: KindNote, T: number(cmd.T), State: cmd.State.String(), Code: code, Text: "also seen: " + s.trip(code).Message})
	}
	if cmd.Question != "" && cmd.Question != o.last.Question {
		s.note(Event{Kind: KindQuestion, T: number(cmd.T), State: cmd.State.String(), Code: cmd.Question, Text: s.questionText(cmd.Question)})
	}
	if cmd.Rejected != process.NoEvent {
		s.note(Event{Kind: KindNote, T: number(cmd.T), State: cmd.State.String(), Text: rejection(cmd)})
	}
	s.tellFindings(cmd)
	s.tellProgress(cmd)
}

// rejection says why what a person asked for changed nothing.
func rejection(cmd process.Command) string {
	switch {
	case cmd.Rejected != process.Acknowledge:
		return "what was asked means nothing in this state and changed nothing"
	case cmd.State == process.Tripped && cmd.Reasons != 0:
		return "not acknowledged: " + strings.Join(waitingFor(cmd.Reasons), "; ")
	}
	return "not acknowledged: no trip is latched, and the load has not ended"
}

func (s *Station) tellFindings(cmd process.Command) {
	o := &s.owner
	count := s.machine.FindingCount()
	if count == len(o.findings) {
		return
	}
	known := o.findings
	o.findings = s.machine.Findings()
	for i := range o.findings {
		if one := &o.findings[i]; !has(known, one.Code) {
			s.note(Event{Kind: KindFinding, T: number(cmd.T), State: cmd.State.String(), Code: one.Code,
				Text: strings.Join(one.Evidence, "; "), Action: one.Action, Finding: one})
		}
	}
}

func has(list []fault.Finding, code fault.Code) bool {
	for i := range list {
		if list[i].Code == code {
			return true
		}
	}
	return false
}

// tellProgress says where the run is, once a second while one is under way.
func (s *Station) tellProgress(cmd process.Command) {
	o := &s.owner
	if !under(cmd.State) || o.input.Now-o.progressedAt < progressEvery-1e-6 {
		return
	}
	o.progressedAt = o.input.Now
	e := s.machine.Estimates()
	s.note(Event{Kind: KindProgress, T: number(cmd.T), State: cmd.State.String(), Progress: &ProgressEvent{
		Volts: s.volts(), Amperes: s.amperes(), SetVolts: number(cmd.Set), Density: number(e.Density), ThicknessByVolts: number(e.ThicknessByVolts),
		Fraction: Number(cmd.Progress), SecondsLeft: number(e.SecondsLeft), WaitingFor: waiting(cmd),
	}})
}

func waiting(cmd process.Command) []string {
	if cmd.State != process.Checking && cmd.State != process.Refused && cmd.State != process.Tripped {
		return nil
	}
	return waitingFor(cmd.Reasons)
}

func (s *Station) volts() Number {
	if r := s.owner.input.Reading; r.OK {
		return number(r.Volts)
	}
	return Unknown()
}

func (s *Station) amperes() Number {
	if r := s.owner.input.Reading; r.OK {
		return number(r.Amperes)
	}
	return Unknown()
}

// questionText is what a person is asked: what was seen, and what to do about it.
func (s *Station) questionText(code fault.Code) string {
	var text []string
	for _, f := range s.machine.Findings() {
		if f.Code == code {
			text = append(text, strings.Join(f.Evidence, "; ")+".")
		}
	}
	if area := s.areaWords(); len(text) == 0 && area != "" {
		text = append(text, area)
	}
	if kind, ok := fault.KindByCode(code); ok {
		text = append(text, kind.Action)
	}
	return strings.Join(append(text, "Go on?"), " ")
}

// areaWords compare the area that the rack behaves like with the declared one.
func (s *Station) areaWords() string {
	one, live := s.owner.load, number(s.machine.Estimates().LiveArea)
	if one == nil || !live.Known() {
		return ""
	}
	declared := one.request.Plan.Area
	return fmt.Sprintf("The rack behaves like %.0f cm2 of the %.0f cm2 declared (%.2f).", float64(live), float64(declared), float64(live)/float64(declared))
}
