package controller

import (
	"slices"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// GoodByEye asks, after a stop, whether the colour that was wanted is there: a reason
// that comes after the act, so that there is one stop and not two.
const GoodByEye fault.Code = record.GoodByEye

// EyeTime is how long a person has to say so. Silence is a stop like any other. The
// record of the load is closed after that, not before.
const EyeTime unit.Seconds = 20

// eye is the question after a stop. Its zero value asks nobody.
type eye struct {
	asked, answered, good bool
	until                 unit.Seconds // 0 until the load is at rest
	makesRoom             bool         // a start came, which waits until the record is closed
}

func (e *eye) open() bool { return e.asked && !e.answered }

func (e *eye) left(now unit.Seconds) unit.Seconds {
	if e.until == 0 {
		return EyeTime
	}
	return max(0, e.until-now)
}

// StopAndAsk stops as Stop does. Where the film was growing, it then asks whether the
// end is good by eye; a yes to that Answer makes the end what Stop(true, why) makes it.
func (s *Station) StopAndAsk(why string) {
	s.orders.askEye()
	s.Stop(false, why)
}

// askEye asks the question of a stop, as soon as that was taken.
func (s *Station) askEye(taken process.State, next order) {
	if one := s.owner.load; one != nil && next.asks && (taken == process.Ramping || taken == process.Holding) {
		one.eye = eye{asked: true}
		s.note(Event{Kind: KindQuestion, T: number(s.owner.last.T), State: taken.String(), Code: GoodByEye, Text: eyeText})
	}
}

// eyeKnows tells whether a stop comes after one that asks. It stops nothing more, and
// the first one's reason stays; one that is by eye is an answer.
func (s *Station) eyeKnows(next order) bool {
	one := s.owner.load
	if one == nil || !one.eye.asked {
		return false
	}
	if next.event == process.StopByEye {
		s.answerEye(true)
	}
	return true
}

const eyeText = "Good by eye? Without an answer it is a stop like any other."

// answerEye takes an answer where the question is open.
func (s *Station) answerEye(good bool) {
	one := s.owner.load
	if one == nil || !one.eye.open() {
		return
	}
	one.eye.answered, one.eye.good = true, good
	word := "no"
	if good {
		word = record.SeenGood
	}
	s.note(Event{Kind: KindAnswer, T: number(s.owner.last.T), Code: GoodByEye, Text: word})
}

// eyeWaits tells whether the record stays open for an answer.
func (s *Station) eyeWaits(one *load, cmd process.Command) bool {
	if cmd.State != process.Stopped || !one.eye.open() {
		return false
	}
	if one.eye.until == 0 {
		one.eye.until = s.owner.input.Now + EyeTime
	}
	return s.owner.input.Now < one.eye.until
}

// eyeMakesRoom lets a start wait until the record of the load before it is closed; its
// person has gone on without an answer.
func (s *Station) eyeMakesRoom(request Request) bool {
	one := s.owner.load
	if one == nil || !one.eye.open() && !one.eye.makesRoom {
		return false
	}
	one.eye.answered, one.eye.makesRoom = true, true
	return s.orders.putBack(request)
}

// eyeQuestion is the open question as the windows show it, nil for none.
func (s *Station) eyeQuestion() *Question {
	if one := s.owner.load; one != nil && one.eye.open() && one.finish == nil {
		return &Question{Code: GoodByEye, Text: eyeText, Left: number(one.eye.left(s.owner.input.Now))}
	}
	return nil
}

// seen makes a result that of a good end where somebody said so: that the film is not
// as planned is then no finding.
func (e *eye) seen(res *record.Result) {
	if res.Outcome != record.Stopped || !e.good {
		return
	}
	res.ByEye = true
	res.Findings = slices.DeleteFunc(res.Findings, func(f fault.Finding) bool { return f.Code == fault.UnderFormed })
}
