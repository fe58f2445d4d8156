package controller

import (
	"fmt"
	"slices"
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal/unit"
)

// The rules of the pace: the traffic of a tick may take this share of it, and where it
// takes more the tick is made longer, once. The film current decays over seconds, so
// five ticks a second still follow it.
const (
	slowTick     = 200 * time.Millisecond
	mostTraffic  = 0.8
	trafficTries = 5
)

// traffic is how long what a tick of a run asks and sets took, several times over.
type traffic struct {
	took   [trafficTries]time.Duration
	count  int
	median time.Duration
}

func (t *traffic) push(took time.Duration) (full bool) {
	t.took[t.count] = took
	t.count++
	if t.count < trafficTries {
		return false
	}
	sorted := t.took
	slices.Sort(sorted[:])
	t.median = sorted[trafficTries/2]
	return true
}

// beginPace forgets what the link was like: it is measured for each load.
func (s *Station) beginPace() {
	o := &s.owner
	o.traffic, o.lagging, o.lagged = traffic{}, 0, false
	o.pace = process.PaceKept
	if _, can := s.clock.(Paced); can {
		o.pace = process.PaceUnmeasured
	}
}

// measureLink does, once a tick of checking and with the output off, what a tick of a
// ramp does: it reads the chain and the supply, looks at what the supply holds, and sets
// it. When it was done often enough the tick is chosen.
func (s *Station) measureLink() {
	o := &s.owner
	if o.pace == process.PaceUnmeasured && o.last.State == process.Checking && !o.troubled && !s.orders.stopping() {
		began := s.clock.Now()
		err := s.tickOfTraffic()
		took := s.clock.Now().Sub(began)
		switch {
		case err != nil:
			s.supplyFailed(&o.input.Link, err)
		case o.traffic.push(took):
			s.choosePace()
		}
	}
	o.input.Pace = o.pace
}

func (s *Station) tickOfTraffic() error {
	s.readContactor()
	s.readStop()
	s.readInterlock()
	s.readVentilation()
	supply := s.devices.Supply
	ctx := s.exchange.begin(4)
	defer s.exchange.end()
	if _, err := supply.Measure(ctx); err != nil {
		return err
	}
	if _, err := supply.Energised(ctx); err != nil { // as long as the look at what it holds, before it is set
		return err
	}
	_, err := supply.SetVoltage(ctx, 0)
	return err
}

// choosePace takes the tick of the options where the link carries it, else the slow one.
func (s *Station) choosePace() {
	o := &s.owner
	period := s.options.Tick
	o.pace = process.PaceKept
	if !carries(period, o.traffic.median) {
		period = max(period, slowTick)
	}
	if !carries(period, o.traffic.median) || !s.holds(period) {
		o.pace = process.PaceTooSlow
		return
	}
	if period == o.period || !s.machine.Pace(unit.Seconds(period.Seconds())) {
		return
	}
	o.period = period
	s.clock.(Paced).Pace(period)
	if period > s.options.Tick {
		s.note(Event{Kind: KindWarning, T: number(o.last.T), State: o.last.State.String(), Code: fault.TickLate, Text: s.paceWords()})
	}
}

// holds tells whether the contactor's one-shot outlasts ticks of this length: it sees a
// rising edge each second one, and one edge may be missed.
func (s *Station) holds(period time.Duration) bool {
	held := s.devices.OneShot
	return s.devices.Contactor == nil || held <= 0 || held >= edgesApart*period
}

// edgesApart is how many ticks a one-shot must bridge.
const edgesApart = 4

// carries tells whether a tick of this length has room for its traffic.
func carries(tick, median time.Duration) bool { return float64(median) <= mostTraffic*float64(tick) }

// paceWords are what the measured link means for this load.
func (s *Station) paceWords() string {
	o := &s.owner
	took := fmt.Sprintf("the questions and settings of one tick take %d ms on these links (median of %d)", o.traffic.median.Milliseconds(), trafficTries)
	if o.pace == process.PaceTooSlow && !s.holds(slowTick) {
		return fmt.Sprintf("%s, which asks for ticks of %d ms: the contactor's one-shot of %v would let go between two pulses; give it %v or more, or use a quicker port",
			took, slowTick.Milliseconds(), s.devices.OneShot, edgesApart*slowTick)
	}
	if o.pace == process.PaceTooSlow {
		return fmt.Sprintf("%s, and even a tick of %d ms has room for %.0f ms: raise the baud rate, shorten the gap in the dialect, "+
			"let it take several commands on a line (compound), or use a quicker port", took, slowTick.Milliseconds(), mostTraffic*float64(slowTick.Milliseconds()))
	}
	return fmt.Sprintf("%s: the control runs %.3g times a second instead of %.3g", took, 1/o.period.Seconds(), 1/s.options.Tick.Seconds())
}

// mostLagging is so many ticks more than two ticks long that a ramp does visibly stand
// still for them; a punctual tick takes a fifth of one away.
const mostLagging = 10

// noticeLag tells once a load that its ramp is held up by ticks that come too late.
func (s *Station) noticeLag(cmd process.Command) {
	o := &s.owner
	switch {
	case !cmd.On || s.options.ClockWaits:
		o.lagging = 0
	case o.late > unit.Seconds(o.period.Seconds()):
		o.lagging++
	default:
		o.lagging = max(0, o.lagging-0.2)
	}
	if o.lagging < mostLagging || o.lagged {
		return
	}
	o.lagged = true
	s.note(Event{Kind: KindWarning, T: number(cmd.T), State: cmd.State.String(), Code: fault.TickLate, Text: lagWords})
}

const lagWords = "ticks come more than a tick late again and again, and the ramp stands still for them: the links or this computer have become slow"
