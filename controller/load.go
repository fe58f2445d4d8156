package controller

import (
	"context"
	"fmt"
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// load is one load from its start to its result.
type load struct {
	request Request
	asked   unit.Seconds // when the intent went to the scribe
	begin   *beginning   // waits for the disk
	run     string       // "" until the intent is durable
	failed  error        // why there is no record
	finish  *finishing   // waits for the disk
	closing unit.Seconds // when the result went to the scribe
	result  record.Result
	dropped uint64 // rows lost before this load
	eye     eye
}

// take hands an order to the process where it is legal by now, and drops it with
// a word where it no longer is.
func (s *Station) take(next order) {
	o := &s.owner
	o.input.Event = process.NoEvent
	switch next.event {
	case process.Start:
		s.takeStart(*next.request)
	case process.Stop, process.StopByEye:
		if s.eyeKnows(next) {
			return
		}
		o.stopWhy = next.why
		if under(o.last.State) {
			o.input.Event = next.event
			s.askEye(o.last.State, next)
		}
	case process.GoOn, process.GiveUp:
		if o.last.Question != "" {
			o.input.Event = next.event
			s.note(Event{Kind: KindAnswer, T: number(o.last.T), Code: o.last.Question, Text: answerWord(next.event)})
		} else {
			s.answerEye(next.event == process.GoOn)
		}
	case process.Acknowledge:
		if o.last.Trip != "" && !under(o.last.State) { // in a refused load too
			o.input.Event = next.event
			s.log.Info("a trip is to be acknowledged", "code", o.last.Trip, "who", next.who)
			s.note(Event{Kind: KindNote, T: number(o.last.T), Code: o.last.Trip, Text: "acknowledgement by " + next.who})
		}
	}
}

// under tells whether a load is under way.
func under(state process.State) bool { return startable(state) == ErrBusy }

func answerWord(event process.Event) string {
	if event == process.GoOn {
		return "go on"
	}
	return "give up"
}

func (s *Station) takeStart(request Request) {
	o := &s.owner
	if s.eyeMakesRoom(request) {
		return
	}
	if err := startable(o.last.State); err != nil {
		s.listeners.send(refusal(request, s.devices.Simulated, []string{err.Error()}))
		return
	}
	if o.load != nil {
		s.listeners.send(refusal(request, s.devices.Simulated, []string{ErrClosing.Error()}))
		return
	}
	if !s.machine.Load(request.Plan) {
		s.listeners.send(refusal(request, s.devices.Simulated, []string{ErrBusy.Error()}))
		return
	}
	o.load = &load{request: request, dropped: s.lost()}
	o.view = &Load{Request: request, Rack: request.Plan.Rack, Profile: request.Plan.Profile,
		Target: request.Plan.TargetVolts, StartedAt: s.options.WallClock()}
	o.input.Event, o.input.Durable, o.input.NoRecord, o.input.LidFirst = process.Start, false, false, request.LidFirst
	o.findings, o.stopWhy, o.trip = nil, "", ""
	o.seen, o.tripped, o.reclosed = map[fault.Code]sight{}, nil, reclosed{}
	s.beginPace()
	s.beginKeeping()
	for _, w := range request.Plan.Warnings {
		s.note(Event{Kind: KindWarning, State: process.Checking.String(), Code: fault.Code(w.Code), Text: w.Message})
	}
}

// refusal is the result of a load that never began.
func refusal(request Request, simulated bool, reasons []string) Event {
	res := record.Result{Event: KindResult, Outcome: record.Refused, Simulated: simulated, Reasons: reasons,
		TargetVolts: record.Known(request.Plan.TargetVolts), DeclaredArea: record.Known(request.Plan.Area), Findings: []fault.Finding{}}
	return Event{Kind: KindResult, T: Unknown(), State: string(record.Refused), Simulated: simulated, Result: &res}
}

// keepRecord moves the record of the load along: intent, rows, result.
func (s *Station) keepRecord(ctx context.Context, cmd process.Command) {
	one := s.owner.load
	if one == nil {
		return
	}
	if cmd.Intent && one.begin == nil && one.run == "" && one.failed == nil {
		s.askIntent(one)
	}
	if one.begin != nil {
		s.collectIntent(ctx, one)
	}
	_, ended := outcomeOf(cmd.State)
	if one.run != "" && one.finish == nil && one.eye.until == 0 {
		s.put(ctx, entry{row: s.machine.Row()})
	}
	if ended && one.finish == nil && !s.eyeWaits(one, cmd) {
		s.conclude(ctx, one, cmd)
	}
	if one.finish != nil {
		s.collectFinish(ctx, one)
	}
}

// put queues for the record. With a simulated clock it waits for room.
func (s *Station) put(ctx context.Context, one entry) bool {
	if s.options.ClockWaits {
		return s.scribe.putPatiently(ctx, one)
	}
	return s.scribe.put(one)
}

func (s *Station) askIntent(one *load) {
	one.asked = s.owner.input.Now
	one.begin = &beginning{intent: s.intent(one.request), done: make(chan begun, 1)}
	if !s.scribe.put(entry{begin: one.begin}) {
		s.noRecord(one, fmt.Errorf("the journal still has not taken the rows of the last run"))
	}
}

func (s *Station) intent(r Request) record.Intent {
	id, bench := s.devices.Identity, s.machine.Bench()
	opened, closed := s.machine.LidMoments()
	return record.Intent{
		StartedAt: s.options.WallClock(), Plan: r.Plan, Profile: r.Profile, Rack: r.Rack, Metal: r.Metal, Bath: r.Bath,
		Calibration: r.Calibration, Supply: fmt.Sprintf("%s,%s,%s,%s", id.Maker, id.Model, id.Serial, id.Firmware),
		Simulated: s.devices.Simulated, TickSeconds: unit.Seconds(s.owner.period.Seconds()), Operator: r.Operator, Note: r.Note, StepUp: r.StepUp, AfterStrip: r.AfterStrip,
		Version: s.options.Version, Seed: r.Seed, LidOpened: record.Known(opened - s.owner.input.Now), LidClosed: record.Known(closed - s.owner.input.Now),
		Bench: record.Bench{Settle: bench.Settle, VoltStep: bench.VoltStep, AmpereStep: bench.AmpereStep, Zero: bench.Zero,
			Voltmeter: bench.Voltmeter, MeterSettle: bench.MeterSettle},
	}
}

// collectIntent takes the answer of the disk, if there is one, and gives up after
// the longest wait.
func (s *Station) collectIntent(ctx context.Context, one *load) {
	answer, ok := awaited(ctx, one.begin.done, s.options)
	wait := unit.Seconds(s.options.RecordWait.Seconds())
	switch {
	case ok:
		s.takeIntent(one, answer)
	case !s.options.ClockWaits && s.owner.input.Now-one.asked < wait:
		return
	case one.begin.giveUp():
		s.noRecord(one, fmt.Errorf("the disk took longer than %v", s.options.RecordWait))
	default:
		s.takeIntent(one, <-one.begin.done)
	}
}

func (s *Station) takeIntent(one *load, answer begun) {
	if answer.err != nil {
		s.noRecord(one, answer.err)
		return
	}
	one.begin, one.run = nil, answer.run
	s.owner.input.Durable = true
	s.watchDate(s.owner.last)
	if s.owner.period > s.options.Tick { // it was told before there was a record
		s.scribe.put(entry{note: &record.Event{Kind: KindWarning, Code: string(fault.TickLate), Text: s.paceWords()}})
	}
}

func (s *Station) noRecord(one *load, err error) {
	one.begin, one.failed = nil, err
	s.owner.input.NoRecord = true
	s.log.Error("the journal did not take the intent: the run is refused", "error", err)
}

// awaited receives without waiting, or, where the clock waits for the disk, for as
// long as the disk may take.
func awaited[T any](ctx context.Context, from <-chan T, o Options) (answer T, ok bool) {
	if !o.ClockWaits {
		select {
		case answer = <-from:
			return answer, true
		default:
			return answer, false
		}
	}
	limit := time.NewTimer(o.RecordWait)
	defer limit.Stop()
	select {
	case answer = <-from:
		return answer, true
	case <-limit.C:
	case <-ctx.Done():
	}
	return answer, false
}
