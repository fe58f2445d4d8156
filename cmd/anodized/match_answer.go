package main

import (
	"fmt"

	"anodized/controller/match"
	"anodized/hal/unit"
)

// matchedAs is a piece as JSON. Without a step add_volts is 0 and to_volts are the
// piece's own.
type matchedAs struct {
	Name      string          `json:"name"`
	Volts     unit.Volts      `json:"volts"`
	Measured  [3]float64      `json:"measured"`
	Verdict   match.Verdict   `json:"verdict"`
	Why       string          `json:"why"`
	DE00      float64         `json:"de00"`
	Tolerance float64         `json:"tolerance"`
	Thickness unit.Nanometres `json:"thickness_nm"`
	SD        unit.Nanometres `json:"thickness_sd_nm"`
	Residual  float64         `json:"residual_de00"`
	Trusted   bool            `json:"thickness_trusted"`
	ByVolts   unit.Nanometres `json:"thickness_by_volts_nm"`
	Goal      unit.Nanometres `json:"goal_thickness_nm"`
	Add       unit.Volts      `json:"add_volts"`
	To        unit.Volts      `json:"to_volts"`
	Expected  float64         `json:"expected_de00"`
	NMPerVolt float64         `json:"nm_per_volt"`
	Moved     bool            `json:"calibration_moved"` // the piece shows another nm/V than the calibration says
	Strips    int             `json:"strips"`            // with the one that an overshot piece still needs
	Caution   string          `json:"caution,omitempty"`
	Since     string          `json:"stripped_since,omitempty"` // date, where the film that was read is gone
	Earlier   int             `json:"earlier_readings"`
}

type matchAnswer struct {
	matchedAs
	Master [3]float64 `json:"master"`
	seenAs
}

func (w *matching) answer(p match.Piece, o match.Outcome) matchedAs {
	a := matchedAs{
		Name: p.Name, Volts: p.Volts, Measured: p.Measured.Array(), Verdict: o.Verdict, Why: o.Why,
		DE00: o.DE00, Tolerance: o.Allowed, Thickness: o.Film.Thickness, SD: o.Film.SD, Residual: o.Film.Residual,
		Trusted: o.Film.Doubt == "", ByVolts: o.Film.Expected, Goal: o.Goal, Add: o.Add, To: p.Volts + o.Add,
		Expected: o.Expected, NMPerVolt: o.NMPerVolt, Moved: o.Moved, Strips: w.flags.stripped + countStrips(w.strips, p.Name), Earlier: len(p.Before),
	}
	if w.from != nil {
		a.Since = stripped(w.strips, w.from.ID, p.Name)
	}
	if o.Verdict == match.Overshot && a.Since == "" {
		a.Strips++
	}
	if a.Strips > 0 || o.Verdict == match.Overshot {
		a.Caution = stripCaution
	}
	return a
}

// stripCaution is what a person must know before a film goes back.
const stripCaution = "only stripping goes back, and nothing here does it: what takes this oxide off is an acid with fluoride, " +
	"which burns deep and late and poisons; leave it to those who have the gloves, the gel, a second person and the leave to (SAFETY.md section 5; licensed practice decides), " +
	"or keep the part for a higher colour; each strip takes metal, so measure what must fit, and changes the finish, so a set is stripped whole or not at all"

// one judges a single piece.
func (w *matching) one(e env) error {
	p := w.pieces[0]
	o := w.basis.basisOf().Judge(p, *w.goal, w.flags.readingSD)
	a := matchAnswer{w.answer(p, o), w.goal.Lab.Array(), w.basis.seen()}
	if w.flags.json {
		if err := printJSON(e.stdout, a); err != nil {
			return err
		}
		return matchStatus(o.Verdict)
	}
	if err := w.printOne(e, a); err != nil {
		return err
	}
	return matchStatus(o.Verdict)
}

// matchStatus is 1 where volts can do nothing. The answer has said why.
func matchStatus(verdicts ...match.Verdict) error {
	for _, v := range verdicts {
		if v != match.Accept && v != match.StepUp {
			return notRight(errQuiet)
		}
	}
	return nil
}

func (w *matching) printOne(e env, a matchAnswer) error {
	t := newTable(e.stdout)
	w.basis.printSeen(t)
	t.row("")
	t.row("verdict\t%s", a.Verdict)
	t.row("\t%s", a.Why)
	t.row("difference\tdE00 %.2f to %s, %.2f is allowed", a.DE00, w.master, a.Tolerance)
	w.printFilm(t, a.matchedAs)
	if a.Verdict == match.StepUp {
		t.row("step\t%.2f V more, to %.2f V, with the same end; dE00 %.2f is expected", float64(a.Add), float64(a.To), a.Expected)
		if w.from != nil {
			t.row("\tanodized run --step-up %s plans and does it", w.from.ID)
		}
	}
	if a.Caution != "" {
		t.row("caution\t%s", a.Caution)
		t.row("\t%s", stripsText(a.matchedAs))
	}
	t.row("")
	w.basis.printProvenance(t)
	return t.done()
}

func (w *matching) printFilm(t *table, a matchedAs) {
	if !a.Trusted {
		t.row("film\tnot known")
		return
	}
	t.row("film\t%.2f nm ± %.2f by its colour (dE00 %.2f left), %.1f by its volts; the goal's is %.2f", float64(a.Thickness), float64(a.SD), a.Residual, float64(a.ByVolts), float64(a.Goal))
	if a.Moved {
		t.row("\tthis piece shows %.3f nm/V, more or less than its calibration can be wrong: make a ladder", a.NMPerVolt)
	}
}

func labText(l [3]float64) string { return fmt.Sprintf("%.2f, %.2f, %.2f", l[0], l[1], l[2]) }
