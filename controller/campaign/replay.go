package campaign

import (
	"context"
	"fmt"
	"time"

	"anodized/controller/colour"
	"anodized/hal/virtual/plant"
)

// Replay runs the load of a seed as a campaign would, with every judgement that some runs get.
func Replay(ctx context.Context, seed uint64, surface *colour.Surface) (Report, error) {
	c := Draw(seed, surface)
	c.Replayed = c.Block != Disorder
	r, err := Run(ctx, c)
	if err != nil {
		return r, err
	}
	r.again(ctx, c)
	r.Judge()
	return r, nil
}

// Told is a run in plain values.
type Told struct {
	Seed         uint64           `json:"seed"`
	Block        string           `json:"block"`
	Injected     []string         `json:"injected"`
	Parts        int              `json:"parts"`
	DeclaredArea float64          `json:"declared_area_cm2"`
	TrueArea     float64          `json:"true_area_cm2"`
	TargetVolts  float64          `json:"target_volts"`
	Ramp         float64          `json:"ramp_volts_per_second"`
	Limit        float64          `json:"current_limit_amperes"`
	End          float64          `json:"end_current_amperes"`
	Tick         time.Duration    `json:"tick_ns"`
	Bench        plant.Parameters `json:"bench"`
	Verdict      string           `json:"verdict"`
	FirstCause   string           `json:"first_cause"`
	Violations   []Violation      `json:"violations"`
	Result       any              `json:"result"`
}

// Tell gives a run in plain values, for people and programs.
func (r Report) Tell() Told {
	c := &r.Case
	t := Told{Seed: c.Seed, Block: c.Block.String(), Parts: r.Plan.Parts, DeclaredArea: float64(r.Plan.Area), TrueArea: areaOf(c),
		TargetVolts: float64(r.Plan.TargetVolts), Ramp: float64(r.Plan.Ramp), Limit: float64(r.Plan.CurrentLimit), End: float64(r.Plan.End.Current),
		Tick: c.Tick, Bench: *c.Setup.Parameters, Verdict: r.verdict(), FirstCause: r.FirstCause(), Violations: r.Violations, Result: r.Result}
	t.Injected = append(t.Injected, c.ids()...)
	for _, f := range c.Setup.Faults {
		t.Injected = append(t.Injected, f.String())
	}
	for n := range c.Late {
		t.Injected = append(t.Injected, c.Late[n].String())
	}
	if c.Chaos != nil {
		t.Injected = append(t.Injected, fmt.Sprintf("disorder: %+v", *c.Chaos))
	}
	return t
}

func (r Report) verdict() string {
	if r.Case.Injection == nil || r.Case.Second != nil {
		return "not judged for one fault"
	}
	v := r.Verdict()
	where := map[bool]string{true: "inside the region", false: "outside the region"}[v.Inside]
	switch v.Found {
	case NotInjected:
		return "the run was over before its moment came"
	case Missed:
		return "missed, " + where
	}
	return fmt.Sprintf("found as %s after %.2f s, %s", v.As, v.Latency, where)
}
