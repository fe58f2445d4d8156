package virtual

import (
	"slices"
	"time"
)

// kind is one sort of fault: its words, its defaults and what it does.
type kind struct {
	id     string
	what   string
	size   float64 // default
	unit   string  // of size, "" where size means nothing
	lasts  time.Duration
	part   int    // default; 0 where a part means nothing
	rack   bool   // ends when another rack goes in
	spoils bool   // answers of the supply, one by one
	needs  string // what of a bench it is of: Chain, Voltmeter, Airflow, "" for what every bench has
	begin  func(*Bench, *armed)
	again  func(*Bench, *armed) float64 // seconds until it acts again
	end    func(*Bench, *armed)
}

// Kind describes one sort of fault to people.
type Kind struct {
	ID, What string
	Size     float64
	Unit     string
	For      time.Duration
	Needs    string // Chain, Voltmeter, Airflow, "" for what every bench has
}

// Kinds lists every sort of fault that the bench can show.
func Kinds() []Kind {
	var all []Kind
	for _, k := range kinds {
		all = append(all, Kind{k.id, k.what, k.size, k.unit, k.lasts, k.needs})
	}
	return all
}

// FaultIDs lists the ids of the faults that random loads draw from, sorted. Those of an
// airflow switch are not among them: no such load has one, and a longer list would make
// another load of each seed that is on record.
func FaultIDs() []string {
	return idsOf(func(k kind) bool { return k.needs != Airflow })
}

func idsOf(listed func(kind) bool) (ids []string) {
	for _, k := range kinds {
		if listed(k) {
			ids = append(ids, k.id)
		}
	}
	slices.Sort(ids)
	return ids
}

func kindOf(id string) (*kind, bool) {
	for i := range kinds {
		if kinds[i].id == id {
			return &kinds[i], true
		}
	}
	return nil, false
}

const ever = Forever

var kinds = slices.Concat(rackKinds, bathKinds, outputKinds, readbackKinds, linkKinds, panelKinds, lidKinds,
	needing(Chain, chainKinds), needing(Voltmeter, meterKinds), needing(Airflow, airKinds))

// needing marks kinds that are nothing on a bench without what they are of.
func needing(what string, marked []kind) []kind {
	for i := range marked {
		marked[i].needs = what
	}
	return marked
}

// rackKinds are what can be wrong with parts and hooks.
var rackKinds = []kind{
	{id: "contact-lost", what: "a part loses its contact", part: 1, lasts: ever, rack: true,
		begin: loseContact, end: regainContact},
	{id: "contact-intermittent", what: "a contact chatters, 0.2 s at a time on average", part: 1,
		lasts: 2 * time.Second, rack: true, begin: loseContact, again: chatterContact, end: regainContact},
	{id: "part-missing", what: "a part never has contact", part: 1, lasts: ever, rack: true,
		begin: loseContact, end: regainContact},
	{id: "no-contact", what: "nothing has contact", part: AllParts, lasts: ever, rack: true,
		begin: loseContact, end: regainContact},
	{id: "contact-resistance", what: "the contact of a part gets worse", size: 1, unit: "ohm/s", part: 1, lasts: ever,
		rack: true, begin: nothing, again: growContact, end: cleanContact},
	{id: "short-circuit", what: "a part touches the cathode", size: 1, unit: "ohm", lasts: ever, rack: true,
		begin: func(b *Bench, f *armed) { b.beside.short = f.Size; b.bypass() },
		end:   func(b *Bench, _ *armed) { b.beside.short = 0; b.bypass() }},
	{id: "leak", what: "a wet hook bridges the cell", size: 1000, unit: "ohm", lasts: ever, rack: true,
		begin: func(b *Bench, f *armed) { b.beside.leak = f.Size; b.bypass() },
		end:   func(b *Bench, _ *armed) { b.beside.leak = 0; b.bypass() }},
	{id: "foreign-metal", what: "a metal that grows no film is wetted", size: 20, unit: "ohm behind 1.8 V", lasts: ever,
		rack: true, begin: func(b *Bench, f *armed) { b.beside.foreign = f.Size; b.bypass() },
		end: func(b *Bench, _ *armed) { b.beside.foreign = 0; b.bypass() }},
	{id: "polarity-swapped", what: "the parts hang on minus, plates of steel on plus", size: 2.5, unit: "ohm behind 1.8 V",
		lasts: ever, rack: true, begin: swapLeads, end: backLeads},
	{id: "oxide-already-present", what: "the parts were formed before", size: 31, unit: "V", part: AllParts,
		lasts: ever, rack: true, begin: formBefore},
	{id: "mixed-rack", what: "a part among bare ones was formed before", size: 31, unit: "V", part: 1,
		lasts: ever, rack: true, begin: formBefore},
}

// bathKinds are what can be wrong with the bath and its thermometer.
var bathKinds = []kind{
	{id: "film-dissolving", what: "fluoride dissolves the film", size: 0.1, unit: "nm/s", lasts: ever, rack: true,
		begin: func(b *Bench, f *armed) { b.body.Dissolving = f.Size; b.body.Recompute() },
		end:   func(b *Bench, _ *armed) { b.body.Dissolving = 0; b.body.Recompute() }},
	{id: "breakdown", what: "the film breaks down: little growth, sparks, rising current", size: 0.05,
		unit: "of the current, a second", lasts: ever, rack: true, begin: breakDown, again: growFloor, end: healFilm},
	{id: "bath-resistance", what: "leads and bath resist more or less", size: 2, unit: "times", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.SeriesFactor = f.Size; b.body.Recompute() },
		end:   func(b *Bench, _ *armed) { b.body.SeriesFactor = 1; b.body.Recompute() }},
	{id: "bath-step", what: "the bath is suddenly warmer or colder", size: 5, unit: "K", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.SetBath(b.body.Celsius() + f.Size) }},
	{id: "thermometer-silent", what: "the bath thermometer does not answer", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.link.warmthSilent = true },
		end:   func(b *Bench, _ *armed) { b.link.warmthSilent = false }},
	{id: "thermometer-stuck", what: "the bath thermometer shows one value for ever", size: 85, unit: "°C", lasts: ever,
		begin: func(b *Bench, f *armed) { b.link.warmthStuck, b.link.warmth = true, f.Size },
		end:   func(b *Bench, _ *armed) { b.link.warmthStuck = false }},
}

// outputKinds are what can be wrong with the power of the supply.
var outputKinds = []kind{
	{id: "supply-droop", what: "the output sinks below the setpoint", size: 0.9, unit: "of the setpoint",
		lasts: 500 * time.Millisecond, begin: droop, end: undroop},
	{id: "mains-dip", what: "the output is without power, then back", lasts: 200 * time.Millisecond,
		begin: func(b *Bench, _ *armed) { b.body.Held = 0; b.body.Recompute() }, end: undroop},
	{id: "setpoint-gain", what: "the output is not what the setpoint says", size: 1.02, unit: "times", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.SetGain = f.Size },
		end:   func(b *Bench, _ *armed) { b.body.SetGain = 1 }},
	{id: "setpoint-not-followed", what: "new setpoints are held but the output stays", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.registers.frozen = true },
		end:   func(b *Bench, _ *armed) { b.registers.frozen = false; b.command() }},
	{id: "current-limit-ignored", what: "the current limit is held but does nothing", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.body.LimitIgnored = true; b.body.Recompute() },
		end:   func(b *Bench, _ *armed) { b.body.LimitIgnored = false; b.body.Recompute() }},
	{id: "output-stuck-on", what: "the output says off and stays on", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.stick(true) }, end: func(b *Bench, _ *armed) { b.stick(false) }},
	{id: "supply-tripped", what: "the supply trips by itself, over-temperature", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.trip(overTemperature) }},
	{id: "supply-restarted", what: "the supply restarts, output off", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.restart() }},
}
