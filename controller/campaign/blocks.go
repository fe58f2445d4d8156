package campaign

import (
	"math/rand/v2"
	"time"

	"anodized/controller/colour"
	"anodized/controller/process"
	"anodized/hal/virtual"
)

// Block is the sort of a run.
type Block uint8

// The blocks: of twenty seeds in a row six are in good order, ten have one fault, three
// have two, one is disorder.
const (
	InOrder Block = iota
	OneFaulty
	TwoFaulty
	Disorder
)

var blockNames = [...]string{"healthy", "one fault", "two faults", "disorder"}

func (b Block) String() string { return blockNames[b] }

// BlockOf is the block of a seed: what is run follows from the seed alone, so that a
// failing seed is replayed without the campaign that it failed in.
func BlockOf(seed uint64) Block {
	switch k := seed % 20; {
	case k < 6:
		return InOrder
	case k < 16:
		return OneFaulty
	case k < 19:
		return TwoFaulty
	}
	return Disorder
}

// Draw is the case of a seed.
func Draw(seed uint64, surface *colour.Surface) Case {
	c := drawn(seed, surface)
	c.shared(draw{rand.New(rand.NewPCG(seed, stream+8))})
	c.Block = BlockOf(seed)
	c.Replayed = c.Block != Disorder && (seed/20)%replayedOf == 0
	return c
}

// sharedOf loads one runs on a machine that does other things beside.
const sharedOf = 10

// shared makes one load of some that of a busy machine: about a third of its ticks come more
// than half a tick late, up to two.
func (c *Case) shared(d draw) {
	if d.IntN(sharedOf) == 0 {
		c.busy(d)
	}
}

// busy lets ticks of 0.1 s come up to 0.2 s late.
func (c *Case) busy(d draw) {
	c.Tick, c.Jitter = 100*time.Millisecond, d.between(1, 2)
	c.Setup.Tick = c.Tick
}

func drawn(seed uint64, surface *colour.Surface) Case {
	switch BlockOf(seed) {
	case OneFaulty:
		return faulted(seed, InjectionOf(seed), surface)
	case TwoFaulty:
		return twoFaults(seed, surface)
	case Disorder:
		return disordered(seed, surface)
	}
	return Healthy(seed, surface, Spread{})
}

// InjectionOf is the fault of a seed with one fault: in a hundred seeds in a row each row
// of the catalogue has its turn once, and its sorts take turns.
func InjectionOf(seed uint64) Injection {
	rows := Rows()
	turn := seed/20*10 + seed%20 - 6
	row := rows[turn%uint64(len(rows))]
	return row[turn/uint64(len(rows))%uint64(len(row))]
}

// Rows are the injections by the rows of the catalogue.
func Rows() [][]Injection {
	var rows [][]Injection
	at := map[string]int{}
	for _, in := range Injections() {
		n, known := at[in.Row]
		if !known {
			n = len(rows)
			at[in.Row], rows = n, append(rows, nil)
		}
		rows[n] = append(rows[n], in)
	}
	return rows
}

// OneFault draws a load on a bench that the shop knows, and puts one fault into it.
func OneFault(seed uint64, in Injection, surface *colour.Surface) Case {
	c := Healthy(seed, surface, Spread{OwnCalibration: true})
	d := draw{rand.New(rand.NewPCG(seed, stream+2))}
	c.knows(d)
	c.put(d, in)
	return c
}

// faulted draws a load of the whole spread and puts one fault into it.
func faulted(seed uint64, in Injection, surface *colour.Surface) Case {
	c := Healthy(seed, surface, Spread{})
	c.put(draw{rand.New(rand.NewPCG(seed, stream+2))}, in)
	return c
}

// twoFaults puts two in. One pair of three is within a second; the others are where
// chance has them.
func twoFaults(seed uint64, surface *colour.Surface) Case {
	c := Healthy(seed, surface, Spread{})
	d := draw{rand.New(rand.NewPCG(seed, stream+3))}
	all := Injections()
	c.put(d, all[d.IntN(len(all))])
	lines, lates := len(c.Setup.Faults), len(c.Late)
	c.put(d, all[d.IntN(len(all))])
	if d.IntN(3) == 0 && c.timed() {
		c.together(d, lines, lates)
	}
	return c
}

// put prepares an injection.
func (c *Case) put(d draw, in Injection) {
	lines, lates := len(c.Setup.Faults), len(c.Late)
	in.prepare(d, c)
	if c.Injection != nil {
		c.Second = &in
		return
	}
	c.Injection = &in
	switch {
	case len(c.Setup.Faults) > lines:
		c.First = c.Setup.Faults[lines].ID
	case len(c.Late) > lates && c.Late[lates].Fault.ID != "":
		c.First = c.Late[lates].Fault.ID
	case len(c.Late) > lates:
		c.First = eventFirst
	}
}

// together moves what the second injection added to within a second of the first.
func (c *Case) together(d draw, lines, lates int) {
	after := time.Duration(d.Float64() * float64(time.Second))
	for n := range c.Late[lates:] {
		c.Late[lates+n].State, c.Late[lates+n].After = "", after
	}
	kept := c.Setup.Faults[:lines:lines]
	for _, f := range c.Setup.Faults[lines:] {
		if f.At.From == virtual.Start { // it hangs with the rack
			kept = append(kept, f)
			continue
		}
		f.At = virtual.Moment{}
		c.Late = append(c.Late, Late{After: after, Fault: f})
	}
	c.Setup.Faults = kept
}

// inState is a moment in a state: the tick in which it begins, or up to so many seconds on.
func (d draw) inState(state process.State, most float64) Late {
	l := Late{State: state.String()}
	if d.IntN(4) > 0 {
		l.After = time.Duration(d.between(0, most) * float64(time.Second))
	}
	return l
}

// anyState draws a moment of any state, so that most are where the load is under power.
func (d draw) anyState(c *Case) Late {
	ramp := c.target() / float64(c.Request.Profile.Ramp)
	switch k := d.IntN(20); {
	case k < 1:
		return d.inState(process.Checking, 5)
	case k < 4:
		return d.inState(process.ContactCheck, 16)
	case k < 12:
		return d.inState(process.Ramping, ramp)
	case k < 19:
		return d.inState(process.Holding, 40)
	}
	return d.inState(process.Discharging, 0.5)
}

// injections are those of the case, none to two.
func (c *Case) injections() (all []*Injection) {
	for _, in := range []*Injection{c.Injection, c.Second} {
		if in != nil {
			all = append(all, in)
		}
	}
	return all
}

func (c *Case) ids() (ids []string) {
	for _, in := range c.injections() {
		ids = append(ids, in.ID)
	}
	return ids
}
