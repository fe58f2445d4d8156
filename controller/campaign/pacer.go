package campaign

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"time"

	"anodized/controller"
	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/virtual"
)

type supply interface {
	hal.Supply
	hal.Protector
}

// longest is the simulated time after which a case has lost its way.
const longest = 2 * time.Hour

var (
	errLost = errors.New("two simulated hours passed without an end")
	errOver = errors.New("the disorder is over")
)

// pacer moves the bench by ticks that are late by chance, does what the case has for a
// moment of the run, and keeps the truth of the last energised tick.
type pacer struct {
	run     *runner
	station *controller.Station
	load    *Case
	report  *Report
	random  *rand.Rand
	due     time.Duration
	now     virtual.Truth
	held    float64 // s of the run at which the target was reached; NaN before

	state   string        // of the last tick
	entered time.Duration // when it was entered
	done    []bool        // of the moments of the case
	timed   bool          // the first fault comes at a moment of its own
	began   float64       // s of the bench when the first fault began; NaN before
	start   time.Time     // of the computer's clock, when the run began
	stepped time.Duration // of the wall clock
	ticks   int
	chaos   *chaos // nil without disorder
}

func newPacer(r *runner) *pacer {
	c := &r.report.Case
	return &pacer{run: r, load: c, report: r.report, random: rand.New(rand.NewPCG(c.Seed, stream+1)), held: math.NaN(), start: time.Now(),
		began: math.NaN(), timed: c.timed(), done: make([]bool, len(c.Late)), state: process.Idle.String()}
}

// wallClock is what labels the record: it starts where the case says, goes with the
// computer's own, and may step.
func (p *pacer) wallClock() time.Time {
	return virtual.Epoch.Add(time.Since(p.start) + p.load.WallClock + p.stepped)
}

func (p *pacer) Next(ctx context.Context) (time.Time, error) {
	if err := ctx.Err(); err != nil {
		return time.Time{}, err
	}
	if p.due > longest {
		return time.Time{}, lost(ctx)
	}
	shown := p.station.Snapshot()
	p.run.audit.shown(shown)
	p.follow(shown.State)
	if p.ticks++; p.chaos != nil {
		if p.chaos.over() {
			return time.Time{}, errOver
		}
		p.chaos.meddle()
	}
	p.due += p.load.Tick
	late := time.Duration(p.load.Jitter * p.random.Float64() * float64(p.load.Tick))
	p.run.bench.AdvanceTo(p.due + late)
	p.look()
	return p.run.bench.Now(), nil
}

// grace is how long, by the computer's clock, a result that was given may take to end the
// run: on a busy one two hours of an idle bench pass before anybody has read it.
const grace = 20 * time.Second

func lost(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(grace):
		return errLost
	}
}

// look lets everyone see the plant as it is now.
func (p *pacer) look() {
	p.run.bench.TruthInto(&p.now)
	p.watch(&p.now)
	p.run.audit.see(&p.now)
	if p.now.Output && p.run.audit.on() {
		p.report.AtEnd, p.now = p.now, p.report.AtEnd // the slices are used in turn
	}
}

// follow does what is due in a state.
func (p *pacer) follow(state string) {
	if state != p.state {
		p.state, p.entered = state, p.due
	}
	for n := range p.load.Late {
		if late := &p.load.Late[n]; !p.done[n] && late.due(p) {
			p.done[n] = true
			late.do(p)
		}
	}
}

// watch notes where the load was as its fault began. One that was there before, or
// that is no line of the timetable, began with the run.
func (p *pacer) watch(t *virtual.Truth) {
	if math.IsNaN(p.began) && p.load.First != "" && p.load.First != eventFirst {
		for _, f := range t.Faults {
			if f.Fault.ID == p.load.First {
				p.began = f.Since.Seconds()
			}
		}
	}
	r := p.report
	if t.RunSeconds < 0 {
		if p.timed && !math.IsNaN(p.began) && r.OnsetState == "" {
			r.OnsetState = p.state
		}
		return
	}
	if math.IsNaN(p.held) && t.Volts >= 0.995*float64(r.Plan.TargetVolts)-0.2 {
		p.held = t.RunSeconds
	}
	if t.Live {
		r.Warmest, r.Coldest = math.Max(r.Warmest, t.Celsius), math.Min(r.Coldest, t.Celsius)
	}
	if p.load.Injection == nil || !math.IsNaN(r.Onset) || p.load.First != "" && math.IsNaN(p.began) {
		return
	}
	if shows := p.load.Injection.shows; shows != nil && !shows(t) {
		return
	}
	p.onset(t)
}

func (p *pacer) onset(t *virtual.Truth) {
	r := p.report
	r.Onset = t.RunSeconds
	if p.load.First != "" && p.load.Injection.shows == nil {
		r.Onset = math.Max(0, t.RunSeconds-t.Seconds+p.began)
	}
	was := t
	if r.AtEnd.Output {
		was = &r.AtEnd // the tick before
	}
	if r.OnsetState == "" {
		r.OnsetState = p.state
	}
	r.OnsetVolts, r.OnsetAmperes, r.OnsetLimited = was.Volts, was.Amperes, was.Limited
	if !math.IsNaN(p.held) {
		r.OnsetHeld = t.RunSeconds - p.held
	}
}

// inject puts a fault on the timetable, from now on.
func (p *pacer) inject(f virtual.Fault) {
	err := p.run.bench.Inject(f)
	if lacking := (*virtual.Lacking)(nil); errors.As(err, &lacking) {
		return // disorder draws faults of any kind, also of parts that this bench lacks
	}
	if err != nil {
		p.report.violate(comesToEnd, "put the fault %v on the timetable: %v", f, err)
	}
}
