package profiles

import "strings"

const longestHow = 200 // characters of how something was tested

// setUp reads the answers to the questions that no reading answers.
func (r *report) setUp(n *node, s *SetUp) {
	var table []field
	for _, q := range Questions() {
		table = append(table, may(q.Key, func(r *report, n *node) { r.answer(n, q, s) }))
	}
	r.fields(n, "a set-up", table)
}

func (r *report) answer(n *node, q Question, s *SetUp) {
	var a Answer
	date := ""
	table := []field{
		need("date", "2026-03-02", day(&date)),
		need("answer", q.example(), valued(func(text string) (err error) { a, err = q.Read(text); return err })),
	}
	how := ""
	if q.How != "" {
		read := text(&how, longestHow)
		if q.HowWords != nil {
			read = choice(&how, q.HowWords...)
		}
		table = append(table, may(q.How, read))
	}
	g := r.fields(n, "an answer", table)
	if !g.all("date", "answer") {
		return
	}
	if q.NeedsHow(a) && !g.has(q.How) {
		r.say(g.seen["answer"], "%s: the answer %q needs the key %q beside it: %s", q.Key, q.Say(&a), q.How, q.HowAsks)
		return
	}
	a.Date, a.How = date, how
	q.Give(s, a)
}

// example is an answer that the reader takes.
func (q Question) example() string {
	if q.Symbol != "" {
		return q.Example
	}
	return q.Words[0]
}

// agree compares the set-up with what the rest of the file says: one of two must be
// wrong, and a wrong one may kill.
func (r *report) agree(g given, b Bench) {
	setUp := g.good["set-up"]
	if setUp == nil || !g.all("supply") {
		return
	}
	r.lostHostAgrees(setUp, b)
	said := strings.ReplaceAll(b.Supply.Dialect.MainsReturn, "_", " ")
	if a := b.SetUp.MainsReturn; a != nil && a.Word != NotKnown && said != "unknown" && said != a.Word {
		r.say(setUp.at("mains return"), "mains return: the set-up says %q and the supply's entry %q; try it, and correct the wrong one", a.Word, said)
	}
	if b.SetUp.Contactor.Is(None) && g.has("contactor") {
		r.say(setUp.at("contactor"), "contactor: the set-up says that there is none, and the file has one; correct the wrong one")
	}
	if a := b.SetUp.Bleed; a != nil && a.How == ThroughContactor && !g.has("contactor") {
		r.say(setUp.at("bleed resistor"), "bleed resistor: it is said to lie there through the contactor, and the file has no contactor; give its entry, or say always")
	}
}

// at is where a key of a map stands.
func (n *node) at(key string) *node {
	for _, e := range n.entries {
		if e.key.text == key {
			return e.key
		}
	}
	return n
}
