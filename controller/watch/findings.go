package watch

import (
	"cmp"
	"fmt"
	"strings"

	"anodized/controller/fault"
)

// mark is a finding as kept in constant memory; words are made when asked for.
type mark struct {
	code  fault.Code
	at    float64
	sure  string
	says  string // instead of the sentence of the code; "" for that
	value values
}

// values are the numbers of a sentence, in order.
type values [6]float64

// mostFindings is how many findings of a run are kept; one code is kept once.
const mostFindings = 24

type marks struct {
	m [mostFindings]mark
	n int
}

func (f *marks) has(code fault.Code) bool {
	for k := 0; k < f.n; k++ {
		if f.m[k].code == code {
			return true
		}
	}
	return false
}

// add keeps the first mark of a code.
func (f *marks) add(code fault.Code, at float64, sure string, value ...float64) {
	f.say(code, at, sure, "", value...)
}

// say is the same with a sentence of its own.
func (f *marks) say(code fault.Code, at float64, sure, says string, value ...float64) {
	if f.n == mostFindings || f.has(code) {
		return
	}
	m := mark{code: code, at: at, sure: sure, says: says}
	copy(m.value[:], value)
	f.m[f.n] = m
	f.n++
}

// reword gives the mark of a code another sentence for the same numbers and more: what came
// of it is known later than that it was.
func (f *marks) reword(code fault.Code, says string, first int, value ...float64) {
	for k := range f.m[:f.n] {
		if m := &f.m[k]; m.code == code {
			m.says = says
			copy(m.value[first:], value)
		}
	}
}

// evidence are the sentences of a finding, with its numbers in order.
var evidence = map[fault.Code]string{
	fault.AreaOverstated:         "the load behaves like %.1f cm2, declared are %.1f cm2: %.2f of it",
	fault.AreaUnderstated:        "the load behaves like %.1f cm2, declared are %.1f cm2: %.2f times; a bore, hooks or a rough finish may be missing, or the film keeps less of the charge",
	fault.OxideAlreadyPresent:    "no growth below %.1f V on parts declared bare; a film of about %.0f nm was there",
	fault.SupplyDroop:            "the supply gave %.2f V where %.2f V were set, below its current limit, and has not come back",
	fault.BathResistanceHigh:     "series resistance %.2f ohm, %.2f ohm were expected: level, plates, leads, dilution",
	fault.BathResistanceLow:      "series resistance %.2f ohm, %.2f ohm were expected: salt, acid or carbonate in the bath",
	fault.LimitedByCurrent:       "the current limit of %.3f A set the pace at %.2f V",
	fault.TargetNotReached:       "only %.2f V of %.2f V after %.0f s: area, leak or the supply's limit",
	fault.EndNotReached:          "%.3f mA/cm2 after %.0f s of hold, the end is at %.3f mA/cm2: not the same colour as an end by density",
	fault.CurrentOffset:          "the current reads %.4f A where none can flow; what was read before the start is subtracted",
	fault.RecordGap:              "%.1f s without readings: charge is not known from there",
	fault.UnderFormed:            "ended at %.2f V of %.2f V and %.3f mA/cm2",
	fault.LeakPlateau:            "about %.3f A flow past the parts, %.3f A is the end current",
	fault.PartMissing:            "the rack draws %.1f %% less than its last %.0f good loads, which differ by up to %.1f %%: a part may hang without contact",
	fault.ReadbackTooCoarse:      "the current reading has steps of %.4f A, the end current is %.4f A: fewer than five",
	fault.ContactIntermittent:    "the current dipped and came back at %.1f V; dips from %.1f %% are told from the noise",
	fault.Breakdown:              "the film fails at %.1f V: %.3g A now against %.3g A at least before",
	fault.ForeignMetalWetted:     "%.3f A flow at %.2f V that do not rise; the current begins at %.1f V",
	fault.PolaritySwapped:        "%.3f A flow at %.2f V from the first volts on; the current begins at %.1f V, as on plates",
	fault.MixedRack:              "from about %.0f V on more of the rack draws current: %.0f %% of it joined there",
	fault.FilmDissolving:         "%.4f A do not die away; the ramp shows %.4f A in proportion to the volts (NaN: it was too short to tell)",
	fault.BathTemperatureOutside: "the bath is at %.1f C, the calibration is for %.1f C",
	fault.BathTemperatureDrift:   "the bath went from %.1f C to %.1f C in the run",
	fault.BathTemperatureUnknown: "no temperature for %.0f s; the last was %.1f C",
	fault.ReadbackGain:           "the voltmeter at the cell shows %.2f V where the supply reads %.2f V",
	fault.ReadbackDisagrees:      "the voltmeter at the cell shows %.2f V where the supply reads %.2f V",
	fault.VoltmeterUnknown:       "no reading of the voltmeter at the cell for %.1f s: the supply's volts are not checked against it",
	fault.ContactLost:            "current fell to %.2f of what it should be at %.2f V",
}

// Findings are the findings so far in the order in which they were seen.
func (w *Watch) Findings() []fault.Finding {
	list := make([]fault.Finding, 0, w.found.n)
	for _, m := range w.found.m[:w.found.n] {
		list = append(list, m.finding())
	}
	return list
}

// FindingCount is how many findings there are; it allocates nothing.
func (w *Watch) FindingCount() int { return w.found.n }

func (m mark) finding() fault.Finding {
	kind, _ := fault.KindByCode(m.code)
	f := fault.Finding{Code: m.code, Severity: kind.Severity, AtSeconds: m.at, Confidence: m.sure, Action: kind.Action, Confused: kind.Confused}
	if trip, ok := fault.TripByCode(m.code); ok && f.Action == "" {
		f.Action, f.Severity, f.Confused = trip.Action, fault.Fault, trip.Confused
	}
	if text := cmp.Or(m.says, evidence[m.code]); text != "" {
		f.Evidence = []string{sprintf(text, m.value)}
	}
	return f
}

// sprintf prints as many of the values as the text asks for.
func sprintf(text string, value values) string {
	verbs := strings.Count(strings.ReplaceAll(text, "%%", ""), "%")
	args := make([]any, verbs)
	for k := range args {
		args[k] = value[k]
	}
	return fmt.Sprintf(text, args...)
}
