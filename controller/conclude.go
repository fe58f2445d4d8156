package controller

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// conclude makes the result of a load that has ended and sends it to the record.
func (s *Station) conclude(ctx context.Context, one *load, cmd process.Command) {
	one.closing = s.owner.input.Now
	one.result = s.result(one, cmd)
	one.finish = &finishing{result: one.result, done: make(chan error, 1)}
	switch {
	case one.run != "":
		s.queueResult(ctx, one)
	case one.begin != nil && !one.begin.giveUp():
		s.takeIntent(one, <-one.begin.done) // it came this very moment
		s.queueResult(ctx, one)
	case one.failed != nil:
		one.finish.done <- nil // there is no record to close
	default:
		s.keepRefusal(ctx, one)
	}
}

// keepRefusal begins and closes the record of a load that was never energised, so
// that it can be found and repeated. Whoever waits for the result waits for the disk.
func (s *Station) keepRefusal(ctx context.Context, one *load) {
	one.asked = s.owner.input.Now
	one.begin = &beginning{intent: s.intent(one.request), done: make(chan begun, 1)}
	if s.put(ctx, entry{begin: one.begin}) && s.put(ctx, entry{finish: one.finish}) {
		return
	}
	one.finish.done <- errors.New("the journal still has not taken the rows of the last run")
}

func (s *Station) queueResult(ctx context.Context, one *load) {
	if one.run == "" {
		one.finish.done <- nil
		return
	}
	one.result.Run = one.run
	one.finish = &finishing{result: one.result, done: make(chan error, 1)}
	if !s.put(ctx, entry{finish: one.finish}) {
		one.finish.done <- errors.New("the journal still has not taken the rows of this run")
	}
}

// result is what the load came to, from the numbers of the pure core.
func (s *Station) result(one *load, cmd process.Command) record.Result {
	o := &s.owner
	outcome, _ := outcomeOf(cmd.State)
	res := record.Result{Event: KindResult, Run: one.run, Outcome: outcome, Trip: s.tripped(cmd), Output: s.outputAtEnd(cmd), ByEye: cmd.ByEye,
		Simulated: s.devices.Simulated, TargetVolts: record.Known(one.request.Plan.TargetVolts),
		DeclaredArea: record.Known(one.request.Plan.Area), Findings: append([]fault.Finding{}, s.machine.Findings()...)}
	if numbers, energised := s.machine.Summary(); energised {
		res.Fill(numbers)
	}
	if cmd.Trip != "" && !has(res.Findings, cmd.Trip) {
		found := fault.OfTrip(cmd.Trip, float64(o.tripMoment(cmd)))
		found.Evidence = []string{res.Trip.Message} // with what was seen
		res.Findings = append(res.Findings, found)
	}
	switch outcome {
	case record.Refused:
		res.Reasons = waitingFor(cmd.Reasons)
		if cmd.Reasons&process.LidNotCycled != 0 {
			opened, _ := s.machine.LidMoments()
			res.Reasons = append(res.Reasons, "the lid: "+unmoved(float64(o.input.Now), float64(opened)))
		}
		if o.stopWhy != "" {
			res.Reasons = append(res.Reasons, "stopped before it was energised: "+o.stopWhy)
		}
		if one.failed != nil {
			res.Reasons = append(res.Reasons, one.failed.Error())
		}
		if cmd.Reasons&process.TimerNotArmed != 0 {
			res.Reasons = append(res.Reasons, s.unarmedWords())
		}
		if cmd.Reasons&process.LinkTooSlow != 0 {
			res.Reasons = append(res.Reasons, s.paceWords())
		}
	case record.Stopped:
		res.Reasons = []string{o.stopWhy}
	}
	if words := outputWords[res.Output]; words != "" {
		res.Reasons = append(res.Reasons, words)
	}
	if cmd.Also != 0 {
		res.Reasons = append(res.Reasons, "also seen: "+codeList(cmd.Also.Codes()))
	}
	if o.lagged {
		res.Findings = append(res.Findings, finding(fault.TickLate, cmd.T, lagWords))
	}
	res.Findings = append(res.Findings, s.kept(one, cmd)...)
	one.eye.seen(&res)
	return res
}

// tripMoment is when the trip of a run was seen.
func (o *owner) tripMoment(cmd process.Command) unit.Seconds {
	if o.trip == cmd.Trip {
		return o.tripAt
	}
	return cmd.T
}

// tripped is the trip of this load with what was seen of it, and what came after it in
// the same stop; nil for none.
func (s *Station) tripped(cmd process.Command) *record.Trip {
	one := s.owner.tripped
	if one == nil || one.Code != cmd.Trip {
		one = s.trip(cmd.Trip)
	}
	again := s.owner.reclosed.words(cmd.Trip)
	if one == nil || cmd.Also == 0 && again == "" {
		return one
	}
	whole := *one // the first one was shown already
	if cmd.Also != 0 {
		whole.Also = cmd.Also.Codes()
	}
	if again != "" {
		whole.Evidence = append(slices.Clone(one.Evidence), again)
		whole.Message += " Then: " + again + "."
	}
	return &whole
}

func codeList(codes []fault.Code) string {
	words := make([]string, len(codes))
	for i, code := range codes {
		words[i] = string(code)
	}
	return strings.Join(words, ", ")
}

// outputAtEnd is what is known of the output as a load ends. A supply that says off
// while its volts stand is not believed.
func (s *Station) outputAtEnd(cmd process.Command) string {
	output := s.owner.output
	if output == process.OutputOff && (cmd.Trip == fault.OutputStuckOn || cmd.Also.Has(fault.OutputStuckOn)) {
		output = process.OutputUnknown
	}
	return outputName(output)
}

// outputWords are what a person must know of an output that is not known to be off.
var outputWords = map[string]string{
	"on":      "the output of the supply is STILL ON: press the emergency stop, pull the supply's mains plug, and prove with a meter that the cell is dead",
	"unknown": "whether the output of the supply is off is NOT KNOWN: treat the cell as live until a meter says otherwise",
}

// tripOf is the row of a trip as people read it, nil for none.
func tripOf(code fault.Code) *record.Trip {
	if code == "" {
		return nil
	}
	row, _ := fault.TripByCode(code)
	return &record.Trip{Code: code, Message: row.Message, Action: row.Action, Confused: row.Confused}
}

func finding(code fault.Code, at unit.Seconds, evidence string) fault.Finding {
	kind, _ := fault.KindByCode(code)
	return fault.Finding{Code: code, Severity: kind.Severity, AtSeconds: float64(at),
		Evidence: []string{evidence}, Confidence: "certain", Action: kind.Action, Confused: kind.Confused}
}

// collectFinish tells the result once it is durable, or once the disk has had its time.
func (s *Station) collectFinish(ctx context.Context, one *load) {
	o := &s.owner
	err, done := awaited(ctx, one.finish.done, s.options)
	wait := unit.Seconds(s.options.RecordWait.Seconds())
	if !done && !s.options.ClockWaits && o.input.Now-one.closing < wait {
		return
	}
	if !done {
		err = fmt.Errorf("the disk took longer than %v", s.options.RecordWait)
	}
	s.tellResult(one, err)
	o.load = nil
}

func (s *Station) tellResult(one *load, err error) {
	if one.begin != nil { // of a load that was never energised: the record was begun to close it
		select {
		case answer := <-one.begin.done:
			s.takeIntent(one, answer)
		default:
		}
	}
	res := one.result
	res.Run = one.run
	if err != nil && one.failed != nil {
		err = one.failed
	}
	if err != nil {
		s.log.Error("the result is not in the journal", "run", one.run, "error", err)
		res.Findings = append(res.Findings, finding(fault.JournalUnwritable, s.owner.last.T, err.Error()))
	}
	s.listeners.send(Event{Kind: KindResult, T: number(s.owner.last.T), State: string(res.Outcome), Simulated: res.Simulated, Result: &res})
}

// abandon closes the record of a load that the end of the Station cut short. The
// output is off already.
func (s *Station) abandon() {
	one := s.owner.load
	if one == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), s.options.RecordWait)
	defer cancel()
	if one.finish == nil {
		if s.owner.stopWhy == "" {
			s.owner.stopWhy = "the station was shut down"
		}
		s.conclude(ctx, one, cutShort(s.owner.last))
	}
	select {
	case err := <-one.finish.done:
		s.tellResult(one, err)
	case <-ctx.Done():
		s.tellResult(one, ctx.Err())
	}
	s.owner.load = nil
}

// cutShort is the last command of a run whose discharge nobody will follow.
func cutShort(last process.Command) process.Command {
	if last.State == process.Checking {
		last.State = process.Refused // never energised
		return last
	}
	last.State = process.Stopped
	if last.Trip != "" {
		last.State = process.Tripped
	}
	return last
}
