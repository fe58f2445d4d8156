package main

import (
	"fmt"
	"strings"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/match"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// partsColour is how the parts of a run match, by the last reading of each spot: what
// match --run says, beside the run itself.
type partsColour struct {
	Verdict match.Verdict `json:"verdict"` // the worst of the pieces
	Goal    [3]float64    `json:"goal"`
	GoalOf  string        `json:"goal_of"`
	Set     match.Mark    `json:"set_verdict,omitempty"` // of several pieces, by the limits of a set
	Worst   *pairAs       `json:"worst_pair,omitempty"`
	Pieces  []pieceOfRun  `json:"pieces"`
	To      *unit.Volts   `json:"step_to_volts"` // safe for every piece; null: no step, or one of them is not to be grown on
	Next    string        `json:"next,omitempty"`
	Caution string        `json:"caution,omitempty"`
	Notes   []string      `json:"notes,omitempty"` // what was taken for granted, and what to beware of
	seenAs
}

type pieceOfRun struct {
	matchedAs
	Wanted *float64 `json:"de00_to_wanted"` // to the CIELAB of the profile itself; null where it wants none
}

// colourOf matches the readings of a run to a master, or to what its plan expected. Where
// that cannot be done it says why; both are nothing where there is no reading.
func colourOf(e env, journalFlag string, run record.Run, kept []record.KeptReading, goal goalFlags) (*partsColour, string) {
	switch run.Result.Outcome {
	case record.Refused, journal.Running:
		return nil, ""
	}
	if len(kept) == 0 {
		return nil, ""
	}
	w := &matching{flags: matchOfRun(run.ID, journalFlag, goal), basis: &colourBasis{}, from: &run}
	if err := w.open(e, kept); err != nil {
		return nil, err.Error()
	}
	return w.colourOfRun(), ""
}

// matchOfRun are the flags of match for a run, the usual ones.
func matchOfRun(run, journal string, goal goalFlags) *matchFlags {
	return &matchFlags{colour: colourFlags{illuminant: "D65"}, run: run, journal: journal, goal: goal,
		readingSD: match.UsualSD, limits: match.UsualLimits()}
}

func (w *matching) colourOfRun() *partsColour {
	c := &partsColour{Goal: w.goal.Lab.Array(), GoalOf: w.master, Notes: w.notes, seenAs: w.basis.seen()}
	if len(w.pieces) == 1 {
		c.add(w, w.answer(w.pieces[0], w.basis.basisOf().Judge(w.pieces[0], *w.goal, w.flags.readingSD)))
	} else {
		set := w.setAnswer(w.basis.basisOf().JudgeSet(w.pieces, w.goal, w.flags.limits, w.flags.readingSD))
		c.Goal, c.GoalOf, c.Set, c.Worst = *set.Goal, set.GoalOf, set.Verdict, set.Worst
		for _, p := range set.Pieces {
			c.add(w, p.matchedAs)
		}
	}
	if c.Verdict == match.StepUp {
		c.step(w)
	}
	return c
}

func (c *partsColour) add(w *matching, a matchedAs) {
	p := pieceOfRun{matchedAs: a}
	if lab := w.from.Intent.Profile.Target.Lab; lab != nil {
		measured := colour.Lab{L: a.Measured[0], A: a.Measured[1], B: a.Measured[2]}
		apart := colour.Difference(measured, colour.Lab{L: lab[0], A: lab[1], B: lab[2]})
		p.Wanted = &apart
	}
	c.Pieces = append(c.Pieces, p)
	if a.Verdict.Worse(c.Verdict) {
		c.Verdict = a.Verdict
	}
	if a.Caution != "" {
		c.Caution = a.Caution
	}
}

// step is the one that is safe for every piece that hangs; a piece that is there already
// comes off first, so then there is none for the whole rack.
func (c *partsColour) step(w *matching) {
	c.Next = fmt.Sprintf("anodized run --step-up %s%s", w.from.ID, w.flags.goal.words())
	for _, p := range c.Pieces {
		switch {
		case p.Since != "": // there is no film to grow on
			c.To, c.Next = nil, "anodized run --after-strip "+w.from.ID
			return
		case p.Verdict == match.Accept:
			c.To = nil
			c.Next += " --rack FILE (the rack of those that are behind)"
			return
		case c.To == nil || p.To < *c.To:
			c.To = &p.To
		}
	}
}

// words are the flags again, for a command that a person may copy.
func (g goalFlags) words() string {
	var words strings.Builder
	if g.master != "" {
		fmt.Fprintf(&words, " --master %q", g.master)
	}
	if g.file != "" {
		fmt.Fprintf(&words, " --master-file %q", g.file)
	}
	if g.tolerance > 0 {
		fmt.Fprintf(&words, " --tolerance %g", g.tolerance)
	}
	return words.String()
}
