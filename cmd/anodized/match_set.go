package main

import (
	"fmt"

	"anodized/controller/match"
	"anodized/hal/unit"
)

// setAnswer is a set as JSON.
type setAnswer struct {
	Verdict match.Mark      `json:"verdict"` // of the set as it is: accept, warn, reject
	Pairs   []pairAs        `json:"pairs"`
	Worst   *pairAs         `json:"worst_pair"`
	Pieces  []setPieceAs    `json:"pieces"`
	Goal    *[3]float64     `json:"goal"`
	GoalOf  string          `json:"goal_of"`
	Film    unit.Nanometres `json:"goal_thickness_nm"`
	Limits  limitsAs        `json:"limits"`
	Master  *[3]float64     `json:"master"`
	Caution string          `json:"caution,omitempty"`
	seenAs
}

type pairAs struct {
	One  string     `json:"one"`
	Two  string     `json:"two"`
	DE00 float64    `json:"de00"`
	Mark match.Mark `json:"mark"`
}

type setPieceAs struct {
	matchedAs
	ToMaster *float64   `json:"de00_to_master"` // null without a master
	Mark     match.Mark `json:"mark,omitempty"` // to the master
}

type limitsAs struct {
	PairWarn     float64 `json:"pair_warn"`
	PairReject   float64 `json:"pair_reject"`
	MasterWarn   float64 `json:"master_warn"`
	MasterReject float64 `json:"master_reject"`
	Status       string  `json:"status"`
}

func (w *matching) several(e env) error {
	s := w.basis.basisOf().JudgeSet(w.pieces, w.goal, w.flags.limits, w.flags.readingSD)
	a := w.setAnswer(s)
	var err error
	if w.flags.json {
		err = printJSON(e.stdout, a)
	} else {
		err = w.printSet(e, a)
	}
	switch {
	case err != nil:
		return err
	case s.Mark == match.Good:
		return nil
	case len(s.Pieces) == 0:
		return notRight(errQuiet)
	}
	var verdicts []match.Verdict
	for _, o := range s.Pieces {
		verdicts = append(verdicts, o.Verdict)
	}
	return matchStatus(verdicts...)
}

func (w *matching) setAnswer(s match.Set) setAnswer {
	a := setAnswer{Verdict: s.Mark, Pairs: []pairAs{}, Pieces: []setPieceAs{}, Film: s.Film, Limits: w.limits(), seenAs: w.basis.seen()}
	for _, p := range s.Pairs {
		a.Pairs = append(a.Pairs, w.pair(p))
	}
	if len(s.Pairs) > 0 {
		worst := w.pair(s.Worst)
		a.Worst = &worst
	}
	if w.goal != nil {
		master := w.goal.Lab.Array()
		a.Master = &master
	}
	if len(s.Pieces) == 0 {
		return a
	}
	goal := s.Goal.Lab.Array()
	a.Goal, a.GoalOf = &goal, w.master
	if s.ByPiece {
		a.GoalOf = w.pieces[s.Ahead].Name + ", which is furthest ahead: nothing goes back"
	}
	for i, o := range s.Pieces {
		p := setPieceAs{matchedAs: w.answer(w.pieces[i], o)}
		if s.ToMaster != nil {
			p.ToMaster, p.Mark = &s.ToMaster[i].DE00, s.ToMaster[i].Mark
		}
		if p.Caution != "" {
			a.Caution = p.Caution
		}
		a.Pieces = append(a.Pieces, p)
	}
	return a
}

func (w *matching) pair(p match.Pair) pairAs {
	return pairAs{w.pieces[p.One].Name, w.pieces[p.Two].Name, p.DE00, p.Mark}
}

func (w *matching) limits() limitsAs {
	l := w.flags.limits
	status := "the shop's own"
	if l == match.UsualLimits() {
		status = "common practice, no source; published thresholds are of other trades, none of anodized titanium"
	}
	return limitsAs{l.PairWarn, l.PairReject, l.MasterWarn, l.MasterReject, status}
}

func (w *matching) printSet(e env, a setAnswer) error {
	t := newTable(e.stdout)
	w.basis.printSeen(t)
	t.row("")
	t.row("set of %d\t%s", len(w.pieces), a.Verdict)
	if a.Worst != nil {
		t.row("worst pair\t%s and %s, dE00 %.2f", a.Worst.One, a.Worst.Two, a.Worst.DE00)
	}
	if a.Goal != nil {
		t.row("goal\t%s, %s", labText(*a.Goal), a.GoalOf)
	}
	t.row("")
	t.row("piece\tvolts\tfilm nm\tdE00 to goal\tto master\tverdict\tstep")
	for _, p := range a.Pieces {
		t.row("%s\t%.2f\t%.2f\t%.2f\t%s\t%s\t%s", p.Name, float64(p.Volts), float64(p.Thickness), p.DE00, toMaster(p), p.Verdict, stepText(p.matchedAs))
	}
	if a.Caution != "" {
		t.row("")
		t.row("caution: %s", a.Caution)
		for _, p := range a.Pieces {
			if p.Strips > 0 {
				t.row("%s: %s", p.Name, stripsText(p.matchedAs))
			}
		}
	}
	t.row("")
	t.row("limits: pair %g and %g, to the master %g and %g, CIEDE2000 (%s)", a.Limits.PairWarn, a.Limits.PairReject, a.Limits.MasterWarn, a.Limits.MasterReject, a.Limits.Status)
	w.basis.printProvenance(t)
	return t.done()
}

func toMaster(p setPieceAs) string {
	if p.ToMaster == nil {
		return "-"
	}
	return fmt.Sprintf("%.2f %s", *p.ToMaster, p.Mark)
}

func stepText(a matchedAs) string {
	if a.Add == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f V more, to %.2f V, then dE00 %.2f", float64(a.Add), float64(a.To), a.Expected)
}
