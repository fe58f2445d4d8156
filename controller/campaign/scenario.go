package campaign

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/hal/virtual"
)

// Scenario is a case as it is kept: whole, so that it stays the same load when the draws
// of the spread change.
type Scenario struct {
	Why       string // what went wrong with it
	Seed      uint64
	Request   plan.Request // without its surface
	Setup     virtual.Setup
	Tick      time.Duration
	Jitter    float64
	Injection string // ""; none
	Second    string
	First     string
	Late      []Late
	Chaos     *Chaos
	NoRecord  uint8
}

// Keep writes a case.
func (c Case) Keep(why string) ([]byte, error) {
	s := Scenario{Why: why, Seed: c.Seed, Request: c.Request, Setup: c.Setup, Tick: c.Tick, Jitter: c.Jitter, First: c.First,
		Late: c.Late, Chaos: c.Chaos, NoRecord: uint8(c.NoRecord)}
	s.Request.Surface = nil
	ids := append(c.ids(), "", "")
	s.Injection, s.Second = ids[0], ids[1]
	text, err := json.MarshalIndent(s, "", "\t")
	if err != nil {
		return nil, fmt.Errorf("keep the case of seed %d: %w", c.Seed, err)
	}
	return append(text, '\n'), nil
}

// ReadScenario reads a kept case and why it was kept.
func ReadScenario(text []byte, surface *colour.Surface) (c Case, why string, err error) {
	var s Scenario
	if err := json.Unmarshal(text, &s); err != nil {
		return Case{}, "", fmt.Errorf("read a kept case: %w", err)
	}
	c = Case{Seed: s.Seed, Request: s.Request, Setup: s.Setup, Tick: s.Tick, Jitter: s.Jitter, First: s.First, Late: s.Late,
		Chaos: s.Chaos, NoRecord: noRecord(s.NoRecord), Replayed: true}
	c.Request.Surface = surface
	if c.Injection, err = injectionOf(s.Injection); err != nil {
		return c, s.Why, err
	}
	c.Second, err = injectionOf(s.Second)
	return c, s.Why, err
}

// injectionOf is the injection of an id, nil for none.
func injectionOf(id string) (*Injection, error) {
	if id == "" {
		return nil, nil
	}
	all := Injections()
	n := slices.IndexFunc(all, func(in Injection) bool { return in.ID == id })
	if n < 0 {
		return nil, fmt.Errorf("read a kept case: no fault %q is known to the campaign", id)
	}
	return &all[n], nil
}
