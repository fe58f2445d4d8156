package main

import (
	"fmt"
	"io"
	"strings"

	"anodized/controller/match"
)

// rows prints how the parts of a run match, for people.
func (c *partsColour) rows(t *table) {
	t.row("match\t%s\tto %s, %s", c.line(), c.GoalOf, labText(c.Goal))
	for _, p := range c.Pieces {
		t.row("  %s\t%s\t%s", p.Name, p.Verdict, p.words())
	}
	if c.To != nil {
		t.row("step\tto %.2f V\tsafe for all of them: %s", float64(*c.To), c.Next)
	} else if c.Next != "" {
		t.row("step\tnot for all\t%s", c.Next)
	}
	for _, note := range c.Notes {
		t.row("note\t%s", note)
	}
	t.row("by\tcalibration %s\t%s", c.Calibration.ID, c.Calibration.Provenance)
}

// line is the verdict in a few words.
func (c *partsColour) line() string {
	if c.Worst == nil {
		return fmt.Sprintf("%s, dE00 %.2f", c.Verdict, c.Pieces[0].DE00)
	}
	return fmt.Sprintf("%s, the set: %s (worst pair dE00 %.2f)", c.Verdict, c.Set, c.Worst.DE00)
}

func (p pieceOfRun) words() string {
	words := fmt.Sprintf("%s; dE00 %.2f, %.2f is allowed", p.Why, p.DE00, p.Tolerance)
	if p.Wanted != nil {
		words += fmt.Sprintf("; %.2f to the profile's own colour", *p.Wanted)
	}
	if p.Verdict == match.StepUp {
		words += fmt.Sprintf("; %.2f V more, to %.2f V: dE00 %.2f is expected", float64(p.Add), float64(p.To), p.Expected)
	}
	if p.Strips > 0 {
		words += "; " + stripsText(p.matchedAs)
	}
	return words
}

func stripsText(a matchedAs) string {
	words := stripsWord(a.Strips)
	switch {
	case a.Since != "":
		return words + ", the last on " + a.Since + ": the film that was read is gone"
	case a.Verdict == match.Overshot:
		return strings.TrimSuffix(words, "so far") + "with this one"
	}
	return words
}

// print writes the match, or why there is none, in a table of its own after a blank line.
func (c colourBeside) print(w io.Writer) error {
	t := newTable(w)
	counted := c.Strips != nil && *c.Strips > 0
	if c.Match != nil || c.Unmatched != "" || counted {
		t.row("")
	}
	if c.Match != nil {
		c.Match.rows(t)
	} else if c.Unmatched != "" {
		t.row("match\tnot known: %s", c.Unmatched)
	}
	if counted {
		t.row("strips\t%s of these parts", stripsWord(*c.Strips))
	}
	if c.Caution != "" || c.Match != nil && c.Match.Caution != "" {
		t.row("caution\t%s", stripCaution)
	}
	return t.done()
}
