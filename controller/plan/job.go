package plan

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"anodized/controller/rack"
	"anodized/hal/unit"
	"anodized/profiles"
)

// ErrOrder is wrapped where a stage would undo an earlier one.
var ErrOrder = errors.New("stages in an order that spoils the first")

// Job says which run of several a plan is: a part of several colours is a run each, and
// between them a person takes a mask off, or moves the part, with the output off.
type Job struct {
	Profile     string   `json:"profile"` // of the whole job
	Rack        string   `json:"rack"`
	Stage       int      `json:"stage"` // from 1
	Of          int      `json:"of"`
	Name        string   `json:"name"`
	Order       string   `json:"order,omitempty"` // rising, where the profile asks for it
	MaskRemoved []string `json:"mask_removed,omitempty"`
	Runs        []JobRun `json:"runs"`
	// VoltsPerMM is the slope of a sweep over its stroke; 0 where no stroke is given.
	VoltsPerMM float64 `json:"volts_per_mm,omitempty"`
}

// JobRun is one run of a job, in brief.
type JobRun struct {
	Stage        int                    `json:"stage"`
	Name         string                 `json:"name"`
	TargetVolts  unit.Volts             `json:"target_volts"`
	Hex          string                 `json:"hex"`
	Area         unit.SquareCentimetres `json:"area_cm2"`     // what this run colours
	Coloured     unit.SquareCentimetres `json:"coloured_cm2"` // hangs in the bath beside it, and draws nothing
	CurrentLimit unit.Amperes           `json:"current_limit_amperes"`
	MaskRemoved  []string               `json:"mask_removed,omitempty"`
	Immersed     unit.Millimetres       `json:"immersed_mm,omitempty"` // of the stroke
}

// Runs makes of a profile with stages a request for each of its runs, in their order, and
// of any other the one that it is. The current limit of each comes from what its stage
// exposes alone.
func Runs(r Request) ([]Request, error) {
	if len(r.Profile.Stages) == 0 && r.Profile.Sweep == nil {
		return []Request{r}, nil
	}
	runs, err := runsOf(r)
	if err != nil {
		return nil, fmt.Errorf("plan %q: %w", r.Profile.Name, err)
	}
	return runs, nil
}

func runsOf(r Request) ([]Request, error) {
	stages := stagesOf(r.Profile)
	strips, err := stripsOf(r, stages)
	if err != nil {
		return nil, err
	}
	j := jobber{whole: r, stages: stages, strips: strips}
	for k := range stages {
		if err := j.stage(k); err != nil {
			return nil, fmt.Errorf("stage %d, %q: %w", k+1, stages[k].Name, err)
		}
	}
	for k := range j.requests {
		j.requests[k].Job.Runs = j.runs
	}
	return j.requests, nil
}

// stagesOf are the stages of a profile; a sweep is one each step.
func stagesOf(p profiles.Profile) []profiles.Stage {
	s := p.Sweep
	if s == nil {
		return p.Stages
	}
	stages := make([]profiles.Stage, s.Steps)
	for k := range stages {
		volts := grain(s.From + (s.To-s.From)*unit.Volts(k)/unit.Volts(s.Steps-1))
		stages[k] = profiles.Stage{Name: fmt.Sprintf("strip at %s", show(volts)), Target: profiles.Target{Volts: volts}}
		if k > 0 {
			stages[k].Exposes = 1 / float64(s.Steps)
		}
	}
	return stages
}

// jobber makes the runs of a job one after the other: a later one hangs on the volts of
// those before.
type jobber struct {
	whole    Request
	stages   []profiles.Stage
	strips   []strip
	volts    []unit.Volts
	requests []Request
	runs     []JobRun
}

// StageName is what the profile and the rack of one run of a job are called.
func StageName(name string, stage, of int) string {
	return fmt.Sprintf("%s, stage %d of %d", name, stage, of)
}

func (j *jobber) rising() bool { return j.whole.Profile.Order == profiles.Rising }

func (j *jobber) stage(k int) error {
	r, p, s := j.whole, j.whole.Profile, j.stages[k]
	r.Profile.Name = StageName(p.Name, k+1, len(j.stages))
	r.Profile.Target, r.Profile.Stages, r.Profile.Sweep, r.Profile.Order = s.Target, nil, nil, ""
	r.Rack = j.hang(k)
	r.Job = &Job{Profile: p.Name, Rack: j.whole.Rack.Name, Stage: k + 1, Of: len(j.stages), Name: s.Name, Order: p.Order, MaskRemoved: s.MaskRemoved}
	if p.Sweep != nil && p.Sweep.Stroke > 0 {
		r.Job.VoltsPerMM = float64(p.Sweep.To-p.Sweep.From) / float64(p.Sweep.Stroke)
	}
	made, err := Build(r)
	if err != nil {
		return err
	}
	if err := j.inOrder(k, made.TargetVolts); err != nil {
		return err
	}
	j.volts = append(j.volts, made.TargetVolts)
	j.requests = append(j.requests, r)
	j.runs = append(j.runs, JobRun{Stage: k + 1, Name: s.Name, TargetVolts: made.TargetVolts, Hex: made.Expected.Hex, Area: made.Area,
		Coloured: colouredArea(r.Rack), CurrentLimit: made.CurrentLimit, MaskRemoved: s.MaskRemoved, Immersed: j.immersed(k)})
	return nil
}

// inOrder challenges volts that rise: a lower film under higher volts grows on.
func (j *jobber) inOrder(k int, volts unit.Volts) error {
	switch {
	case k == 0:
		return nil
	case volts >= j.volts[k-1] && !j.rising():
		return fmt.Errorf("%w: %s come after %s, and what was coloured at those grows on and loses its colour: begin with the highest volts, or write \"order: rising\" in the profile where it is masked or drawn out before", ErrOrder, show(volts), show(j.volts[k-1]))
	case volts <= j.volts[k-1] && j.rising():
		return fmt.Errorf("%w: %s come after %s, and the profile says \"order: rising\": leave that out, or let the volts rise", ErrOrder, show(volts), show(j.volts[k-1]))
	}
	return nil
}

// immersed is how much of the stroke is in the bath.
func (j *jobber) immersed(k int) unit.Millimetres {
	sweep := j.whole.Profile.Sweep
	if sweep == nil {
		return 0
	}
	strips := k + 1
	if j.rising() {
		strips = sweep.Steps - k
	}
	return sweep.Stroke * unit.Millimetres(strips) / unit.Millimetres(sweep.Steps)
}

func colouredArea(r profiles.Rack) unit.SquareCentimetres {
	total := unit.SquareCentimetres(0)
	for _, c := range r.Coloured {
		total += c.Area
	}
	return total
}

// hang is the rack as a stage has it in the bath: its parts are what the stage colours,
// each by that area.
func (j *jobber) hang(k int) profiles.Rack {
	hung := profiles.Rack{Name: StageName(j.whole.Rack.Name, k+1, len(j.stages)), Note: j.whole.Rack.Note, FormedTo: j.whole.Rack.FormedTo}
	from, to := k, k // the strips that draw
	switch {
	case j.rising() && j.whole.Profile.Sweep != nil: // drawn out: what is still in grows on
		to = len(j.strips) - 1
	case j.rising():
		from = 0
	}
	for i, part := range j.whole.Rack.Parts {
		area := unit.SquareCentimetres(0)
		for _, s := range j.strips[from : to+1] {
			area += s.each[i]
		}
		if area > 0 {
			hung.Parts = append(hung.Parts, profiles.Part{Name: part.Name, Count: part.Count, Shape: profiles.Shape{Area: area},
				Wetted: 1, Roughness: 1, HeatNumber: part.HeatNumber, Finish: part.Finish})
		}
	}
	if k == 0 || j.rising() {
		hung.Fixture = j.whole.Rack.Fixture
	}
	hung.Coloured = append(hung.Coloured, j.whole.Rack.Coloured...)
	switch {
	case k == 0:
	case !j.rising():
		hung.Coloured = append(hung.Coloured, j.earlier(k)...)
	case j.whole.Profile.Sweep != nil || j.strips[k].total(j.whole.Rack) == 0:
		hung.FormedTo = max(hung.FormedTo, j.volts[k-1])
	}
	return hung
}

// earlier is what the stages before coloured, the wires with the first.
func (j *jobber) earlier(k int) []profiles.Coloured {
	var all []profiles.Coloured
	for i, s := range j.strips[:k] {
		area := s.total(j.whole.Rack)
		if i == 0 {
			area += s.fixture
		}
		all = append(all, profiles.Coloured{Area: area, FormedTo: j.volts[i]})
	}
	return all
}

// strip is what one stage exposes anew, of each part.
type strip struct {
	each    []unit.SquareCentimetres
	fixture unit.SquareCentimetres // of the rack
}

func (s strip) total(r profiles.Rack) unit.SquareCentimetres {
	total := unit.SquareCentimetres(0)
	for i, each := range s.each {
		total += each * unit.SquareCentimetres(r.Parts[i].Count)
	}
	return total
}

// stripsOf parts the rack into what its stages expose.
func stripsOf(r Request, stages []profiles.Stage) ([]strip, error) {
	area, err := rack.Area(r.Rack, r.Metal.Density)
	if err != nil {
		return nil, err
	}
	strips, rest := make([]strip, len(stages)), 1.0
	for _, s := range stages {
		rest -= s.Exposes
	}
	removed := map[string]bool{}
	for k, s := range stages {
		share := s.Exposes
		if k == 0 {
			share = rest
		}
		strips[k] = strip{each: make([]unit.SquareCentimetres, len(area.Parts)), fixture: area.Fixture}
		for i, part := range area.Parts {
			strips[k].each[i] = part.Each * unit.SquareCentimetres(share)
		}
		for _, name := range s.MaskRemoved {
			if removed[name] {
				return nil, fmt.Errorf("stage %d, %q: the mask %q is off already", k+1, s.Name, name)
			}
			removed[name] = true
			if !strips[k].uncover(area.Parts, name) {
				return nil, fmt.Errorf("stage %d, %q: no part of the rack %q has a mask %q: name it there among its masks", k+1, s.Name, r.Rack.Name, name)
			}
		}
	}
	return strips, nil
}

// uncover adds what a mask covered, and tells whether any part had it.
func (s *strip) uncover(parts []rack.PartArea, name string) (any bool) {
	for i, part := range parts {
		for _, mask := range part.Masks {
			if mask.Name == name {
				s.each[i] += mask.Area * unit.SquareCentimetres(part.Wetted*part.Roughness)
				any = true
			}
		}
	}
	return any
}

// colouredShare is the share of the end current from which on the current of what is
// coloured already is told: it moves the end by as much. Our choice.
const colouredShare = 0.1

// colouredCurrent is what surface that was coloured at higher volts draws at the target by
// the law: its field is lower by their ratio. Side currents are not in it.
func (d *draft) colouredCurrent() unit.Amperes {
	total, softness := 0.0, d.law.Softness(d.ended)
	for _, c := range d.Rack.Coloured {
		total += float64(c.Area) * d.law.I0 * math.Expm1(softness*float64(d.plan.TargetVolts/c.FormedTo))
	}
	return unit.Amperes(total)
}

// warnOfJob says what a person does between the runs.
func (d *draft) warnOfJob() []Warning {
	var found []Warning
	for _, c := range d.Rack.Coloured {
		if c.FormedTo < d.plan.TargetVolts {
			found = append(found, warn(ColouredGrows, "%s of the rack are coloured at %s, below the target: they grow on, lose their colour, and draw current that the limit of %s has no room for", show(c.Area), show(c.FormedTo), show(d.limit)))
		}
	}
	if draws, end := d.colouredCurrent(), d.plan.End; end.Time == 0 && draws > colouredShare*end.Current {
		found = append(found, warn(ColouredDraws, "what is coloured already still draws about %s at these volts, %.0f %% of the end current: the hold takes longer, or runs out, and the new film comes out thicker; let the volts fall in larger steps, or end by time", show(draws), 100*float64(draws/end.Current)))
	}
	j := d.Job
	if j == nil {
		return found
	}
	before := "move the part to its next strip"
	switch {
	case len(j.MaskRemoved) > 0:
		before = "take off the mask " + strings.Join(j.MaskRemoved, " and ")
	case j.Stage == 1:
		before = "hang the rack with its masks on"
	}
	found = append(found, warn(JobStage, "stage %d of %d, %q: with the output off and the lid open, %s; closing the lid and a new start begin it; nothing is drawn out by hand while the output is on", j.Stage, j.Of, j.Name, before))
	if j.Order == profiles.Rising && j.Stage > 1 {
		found = append(found, warn(RisingOrder, "the volts rise: whatever of the stages before is still in the bath and bare grows on to %s and loses its colour", show(d.plan.TargetVolts)))
	}
	return found
}
