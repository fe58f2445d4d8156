package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// repeated is a recorded run that is planned again, and what has changed since.
type repeated struct {
	Run       string    `json:"run"`
	StartedAt time.Time `json:"started_at"`
	Changed   []changed `json:"changed"` // never null
}

// changed is one thing that is no longer as it was; "" is not known.
type changed struct {
	What    string `json:"what"`
	Was     string `json:"was"`
	Now     string `json:"now"`
	Message string `json:"message"` // what that means for the repeat
}

// changed is nil where no run is repeated.
func (k *frozen) changed(made plan.Plan, from shelf) (*repeated, error) {
	if k.Repeats == nil {
		return nil, nil
	}
	return sinceThen(*k.Repeats, *k, made, from)
}

// sinceThen compares a run with what a plan of it is made from today.
func sinceThen(run record.Run, kept frozen, made plan.Plan, from shelf) (*repeated, error) {
	r := &repeated{Run: run.ID, StartedAt: run.Intent.StartedAt, Changed: []changed{}}
	later, err := from.latest(run)
	if err != nil {
		return nil, fmt.Errorf("look for what has changed since run %s: %w", run.ID, err)
	}
	if err := r.calibration(run.Intent, kept, from); err != nil {
		return nil, fmt.Errorf("look for what has changed since run %s: %w", run.ID, err)
	}
	r.files(run.Intent, later)
	r.rack(run, kept.Rack)
	r.temperature(run, kept)
	r.machines(run.Intent, kept, made)
	r.numbers(run.Intent.Plan, made)
	return r, nil
}

func (r *repeated) note(what, was, now, message string) {
	r.Changed = append(r.Changed, changed{what, was, now, message})
}

// calibration tells whether a plan from the files would take another one today.
func (r *repeated) calibration(in record.Intent, kept frozen, from shelf) error {
	best, choice, err := from.choose(kept.like().Key(), in.Metal.Book)
	if err != nil || best == in.Calibration {
		return err
	}
	r.note("calibration", calibrationWords(in.Calibration), calibrationWords(best),
		fmt.Sprintf("the repeat keeps the one of the run; today another would be taken (%s): plan from the profile for the same colour by it", choice.Why))
	return nil
}

func calibrationWords(c profiles.Calibration) string {
	return fmt.Sprintf("%s, %.4g nm/V + %.3g nm at %s", c.ID, c.NMPerVolt, float64(c.Offset), unit.Format(c.EndCurrentDensity))
}

// named is what goes by the names of a run now: what a later run recorded of it, else
// what is embedded.
type named struct {
	profile *profiles.Profile
	rack    *profiles.Rack
	where   map[string]string // by what it is
}

// latest finds what the newest later run with the same profile, or the same rack, was
// made from, and what is embedded by their names.
func (s shelf) latest(run record.Run) (named, error) {
	now := named{where: map[string]string{}}
	if slices.Contains(profiles.ProfileNames(), run.Intent.Profile.Name) {
		if p, err := profiles.OpenProfile(run.Intent.Profile.Name, nil); err == nil {
			now.profile, now.where["profile"] = &p, "embedded"
		}
	}
	if slices.Contains(profiles.RackNames(), run.Intent.Rack.Name) {
		if k, err := profiles.OpenRack(run.Intent.Rack.Name, nil); err == nil {
			now.rack, now.where["rack"] = &k, "embedded"
		}
	}
	err := s.read(func(r *journal.Reader) error {
		list, err := r.Runs(journal.Filter{Limit: searchedForNames})
		for i := len(list) - 1; i >= 0 && err == nil; i-- { // the newest has the last word
			if list[i].StartedAt.After(run.Intent.StartedAt) && list[i].ID != run.ID {
				err = now.take(r, run, list[i])
			}
		}
		return err
	})
	if errors.Is(err, journal.ErrNoJournal) {
		err = nil
	}
	return now, err
}

// searchedForNames is how many of the newest runs are looked through.
const searchedForNames = 200

func (n *named) take(r *journal.Reader, run record.Run, one journal.Summary) error {
	if one.Profile != run.Intent.Profile.Name && one.Rack != run.Intent.Rack.Name {
		return nil
	}
	later, err := r.Run(one.ID)
	if errors.Is(err, journal.ErrDamaged) {
		return nil // verify names it
	}
	if err != nil {
		return err
	}
	if one.Profile == run.Intent.Profile.Name {
		n.profile, n.where["profile"] = &later.Intent.Profile, "run "+one.ID
	}
	if one.Rack == run.Intent.Rack.Name {
		n.rack, n.where["rack"] = &later.Intent.Rack, "run "+one.ID
	}
	return nil
}

// files compares profile and rack, and the constants of metal and bath that are embedded.
func (r *repeated) files(in record.Intent, now named) {
	if p := now.profile; p != nil {
		if key := firstDifference(in.Profile, *p); key != "" {
			r.note("profile", "as recorded", "as in "+now.where["profile"], fmt.Sprintf("the profile %q differs in %s; the repeat keeps that of the run", in.Profile.Name, key))
		}
	}
	if k := now.rack; k != nil {
		was, is := in.Rack, *k
		was.FormedTo, is.FormedTo = 0, 0 // of the parts that hung, not of the rack
		if key := firstDifference(was, is); key != "" {
			r.note("rack", "as recorded", "as in "+now.where["rack"], fmt.Sprintf("the rack %q differs in %s; the repeat keeps that of the run: see that this is what hangs", in.Rack.Name, key))
		}
	}
	if m, err := profiles.OpenMetal(in.Metal.ID, nil); err == nil {
		if key := firstDifference(in.Metal, m); key != "" {
			r.note("metal", "as recorded", "embedded", fmt.Sprintf("the constants of %s differ in %s; the repeat keeps those of the run", m.ID, key))
		}
	}
	if b, err := profiles.OpenBath(in.Bath.ID, nil); err == nil {
		if key := firstDifference(in.Bath, b); key != "" {
			r.note("bath", "as recorded", "embedded", fmt.Sprintf("what is known of the bath %s differs in %s; the repeat keeps that of the run", b.ID, key))
		}
	}
}

// firstDifference is the first key in which two values differ as JSON; "" for none.
func firstDifference(a, b any) string {
	x, y := asKeys(a), asKeys(b)
	var keys []string
	for key := range x {
		keys = append(keys, key)
	}
	for key := range y {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	for _, key := range keys {
		if string(x[key]) != string(y[key]) {
			return key
		}
	}
	return ""
}

func asKeys(v any) map[string]json.RawMessage {
	keys := map[string]json.RawMessage{}
	text, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(text, &keys)
	}
	if err != nil {
		return map[string]json.RawMessage{"": json.RawMessage(err.Error())}
	}
	return keys
}

// rack tells of parts that carry a film now.
func (r *repeated) rack(run record.Run, now profiles.Rack) {
	if was := run.Intent.Rack.FormedTo; now.FormedTo != was {
		r.note("parts", "formed to "+unit.Format(was), "formed to "+unit.Format(now.FormedTo),
			"the run was cut off and is gone on with on the same parts; where other parts hang, give --new-parts")
	}
}

// temperature compares the bath of the run, as its thermometer read it, with the one that
// a person read today.
func (r *repeated) temperature(run record.Run, kept frozen) {
	var read []float64
	for _, row := range run.Rows {
		if t := float64(row.Bath); !math.IsNaN(t) {
			read = append(read, t)
		}
	}
	was := unit.Celsius(math.NaN())
	if len(read) > 0 {
		slices.Sort(read)
		was = unit.Celsius(read[len(read)/2])
	}
	now := kept.Temperature
	switch {
	case now == 0 && len(read) > 0:
		r.note("bath temperature", shown(was), "", "nobody read the bath for this plan: give --bath-temperature; 0.34 % of film a kelvin")
	case now != 0 && len(read) == 0:
		r.note("bath temperature", "", shown(now), "the run has no reading of its bath")
	case now != 0 && math.Abs(float64(now-was)) > sameBath:
		r.note("bath temperature", shown(was), shown(now), fmt.Sprintf("%+.1f K: about %+.1f %% of film at the same volts", float64(now-was), 0.34*float64(now-was)))
	}
}

// sameBath is the difference in kelvin that no eye sees: 0.17 % of film.
const sameBath = 0.5

// machines compares program and supply.
func (r *repeated) machines(in record.Intent, kept frozen, made plan.Plan) {
	if now := softwareVersion(); in.Version != now {
		r.note("software", in.Version, now, "another program may reckon otherwise: the numbers below say whether it does")
	}
	now := "the embedded virtual bench"
	if kept.Bench != nil {
		now = kept.Bench.Supply.Driver + " " + kept.Bench.Supply.Address + ", whose identity is asked when the run starts"
	}
	if kept.Bench != nil || !in.Simulated {
		r.note("supply", in.Supply, now, "see that it is the same one: another reads and limits a little otherwise")
	}
	if was, is := in.Plan.Simulated, made.Simulated; was != is {
		r.note("bench", benchWord(was), benchWord(is), "nothing of a virtual bench holds for a real one")
	}
}

func benchWord(simulated bool) string {
	if simulated {
		return "SIMULATED"
	}
	return "real"
}

// numbers compares what the plan comes to.
func (r *repeated) numbers(was, now plan.Plan) {
	for _, n := range []struct {
		what     string
		was, now float64
		symbol   string
	}{
		{"target", float64(was.TargetVolts), float64(now.TargetVolts), "V"},
		{"ceiling", float64(was.CeilingVolts), float64(now.CeilingVolts), "V"},
		{"wetted area", float64(was.Area), float64(now.Area), "cm2"},
		{"current limit", float64(was.CurrentLimit), float64(now.CurrentLimit), "A"},
		{"end current", float64(was.End.Current), float64(now.End.Current), "A"},
		{"longest hold", float64(was.End.LongestHold), float64(now.End.LongestHold), "s"},
		{"ramp", float64(was.Ramp), float64(now.Ramp), "V/s"},
		{"contact check", float64(was.ContactCheck.Volts), float64(now.ContactCheck.Volts), "V"},
		{"expected film", float64(was.Expected.Thickness), float64(now.Expected.Thickness), "nm"},
	} {
		if math.Abs(n.now-n.was) > 1e-6*math.Abs(n.was) {
			r.note(n.what, fmt.Sprintf("%.6g %s", n.was, n.symbol), fmt.Sprintf("%.6g %s", n.now, n.symbol), "the plan comes to another number")
		}
	}
}

// print says on a sheet what has changed.
func (r *repeated) print(w io.Writer) error {
	if r == nil {
		return nil
	}
	t := newTable(w)
	t.row("")
	t.row("repeats run\t%s\tof %s", r.Run, r.StartedAt.Format("2006-01-02 15:04"))
	if len(r.Changed) == 0 {
		t.row("since then\tnothing that is known has changed")
	}
	for _, c := range r.Changed {
		t.row("%s\t%s\tnow %s: %s", c.What, or(c.Was, "not known"), or(c.Now, "not known"), c.Message)
	}
	return t.done()
}

// tell says to who starts a run what has changed.
func (r *repeated) tell(e env) {
	if r == nil {
		return
	}
	for _, c := range r.Changed {
		fmt.Fprintf(e.stderr, "anodized: since run %s: %s was %s, now %s: %s\n", r.Run, c.What, or(c.Was, "not known"), or(c.Now, "not known"), c.Message)
	}
}
