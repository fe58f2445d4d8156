package web

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/plan"
)

// Permission is what the page says about opening the lid, one of four.
type Permission struct {
	Shape string `json:"shape"` // closed, open or unproven
	Word  string `json:"word"`
	Note  string `json:"note"`
}

// safeVolts is below what the wet cell may be touched.
const safeVolts = 5

// permission never counts down: waiting proves nothing.
func permission(now *controller.Snapshot) Permission {
	s := now.Supply
	fresh := float64(s.AgeMS) <= 1000
	switch {
	case now.SafeToOpen.Proven && fresh:
		return Permission{"open", "Safe to open", ""}
	case s.Output == "off" && fresh && s.Volts >= safeVolts:
		return Permission{"closed", "Do not open yet", "the cell still has " + volts(s.Volts) + " V"}
	case s.Output == "off" && fresh && s.Volts < safeVolts:
		return Permission{"unproven", "Not proven", "bleed lead, then meter"}
	}
	return Permission{"closed", "Do not open", ""}
}

// figures are volts and amperes, with what limits the run at the moment.
func figures(now *controller.Snapshot, p *plan.Plan) (v, i Figure) {
	s := now.Supply
	v = Figure{Text: volts(s.Volts), Note: "on the cell", Share: controller.Unknown()}
	i = Figure{Text: amperes(s.Amperes), Share: controller.Unknown()}
	switch {
	case s.Output == "unknown":
		v.Note = "output not known"
	case now.State == "discharging":
		v.Note = "falling"
	}
	if s.Output != "on" || p == nil {
		return v, i
	}
	goal, word := float64(p.TargetVolts), "of"
	if now.State == "contact-check" {
		goal, word = float64(p.ContactCheck.Volts), "check, to"
	}
	v.Note, v.Share = fmt.Sprintf("%s %.1f", word, goal), share(s.Volts, goal)
	i.Note, i.Share = fmt.Sprintf("of %.2f · %s mA/cm²", float64(p.CurrentLimit), fixed(now.Estimates.Density, 2)), share(s.Amperes, float64(p.CurrentLimit))
	if now.State == "contact-check" {
		return v, i
	}
	v.Paces, i.Paces = s.Mode == "constant-voltage", s.Mode == "constant-current"
	return v, i
}

func share(n controller.Number, of float64) controller.Number {
	return controller.Number(math.Min(1, math.Max(0, float64(n)/of)))
}

// foot is the line below: lid, supply, bath, age.
func foot(now *controller.Snapshot) []Fact {
	return []Fact{
		{Name: "lid", Value: lidWords(now)},
		{Name: "supply", Value: supplyWords(now)},
		{Name: "bath", Value: unitOf(now.Bath.Celsius, 1, "°C")},
		{Name: "read", Age: true},
	}
}

func lidWords(now *controller.Snapshot) string {
	switch c := now.Interlock.Channels; {
	case !now.Interlock.AgeMS.Known() || float64(now.Interlock.AgeMS) > 1000:
		return "not known"
	case now.Interlock.Closed && now.Supply.Output != "off":
		return "do not open"
	case now.Interlock.Closed:
		return "closed"
	case c[0] != c[1]:
		return "channels differ"
	}
	return "open"
}

func supplyWords(now *controller.Snapshot) string {
	switch now.Supply.Output {
	case "on":
		return map[string]string{"constant-voltage": "on, by volts", "constant-current": "on, by amps"}[now.Supply.Mode] + onElse(now.Supply.Mode)
	case "off":
		return "off, read back"
	}
	return "not known"
}

func onElse(mode string) string {
	if mode == "constant-voltage" || mode == "constant-current" {
		return ""
	}
	return "on"
}

func unitOf(n controller.Number, decimals int, symbol string) string {
	if !n.Known() {
		return "–"
	}
	return fixed(n, decimals) + " " + symbol
}

// behaves is what the readings say of the load.
func behaves(now *controller.Snapshot, p *plan.Plan) []Fact {
	e := now.Estimates
	facts := []Fact{
		{Name: "live area", Value: unitOf(e.LiveArea, 0, "cm²")},
		{Name: "bath", Value: unitOf(e.SeriesOhm, 1, "Ω")},
		{Name: "past the parts", Value: unitOf(controller.Number(1000*float64(e.Leak)), 0, "mA")},
		{Name: "charge", Value: unitOf(e.Charge, 1, "C")},
	}
	if p == nil {
		return facts
	}
	if e.LiveArea.Known() {
		facts[0].Note = fmt.Sprintf("%.2f of declared", float64(e.LiveArea)/float64(p.Area))
	}
	facts[1].Note = fmt.Sprintf("%.1f expected", float64(p.Law.Series))
	facts[3].Note = fmt.Sprintf("of about %.0f", float64(p.Expected.Charge))
	if e.ThicknessByCharge.Known() {
		facts = append(facts, Fact{Name: "film", Value: unitOf(e.ThicknessByVolts, 1, "nm"), Note: fmt.Sprintf("%.1f by charge", float64(e.ThicknessByCharge))})
	}
	return facts
}

func benchFacts(now *controller.Snapshot) []Fact {
	note := permission(now).Word
	if now.Supply.Output == "on" {
		note = "output on"
	}
	facts := []Fact{
		{Name: "lid", Value: lidWords(now), Note: strings.ToLower(note)},
		{Name: "E-stop", Value: emergencyWords(now)},
		{Name: "contactor", Value: contactorWords(now)},
		{Name: "ventilation", Value: airWords(now)},
		{Name: "supply", Value: supplyWords(now), Note: "set to " + unitOf(now.Supply.SetVolts, 1, "V")},
		{Name: "bath", Value: unitOf(now.Bath.Celsius, 1, "°C")},
		{Name: "read", Age: true, Note: fmt.Sprintf("%d late ticks", now.Loop.Overruns)},
	}
	if now.Voltmeter.Fitted {
		facts = slices.Insert(facts, 5, meterFact(now.Voltmeter))
	}
	return facts
}

// meterFact is the voltmeter at the cell with its own age: it is read beside the tick.
func meterFact(v controller.VoltmeterView) Fact {
	fact := Fact{Name: "voltmeter", Value: unitOf(v.Volts, 2, "V"), Note: "never read"}
	if v.AgeMS.Known() {
		fact.Note = fmt.Sprintf("%.1f s old", float64(v.AgeMS)/1000)
	}
	return fact
}

func emergencyWords(now *controller.Snapshot) string {
	switch {
	case !now.EmergencyStop.Fitted:
		return "none told of"
	case now.EmergencyStop.Pressed:
		return "pressed, or not read"
	}
	return "released"
}

func airWords(now *controller.Snapshot) string {
	switch {
	case !now.Ventilation.Fitted:
		return "none told of"
	case !now.Ventilation.Proven:
		return "not proven"
	}
	return "proven"
}

func contactorWords(now *controller.Snapshot) string {
	switch {
	case !now.Contactor.Fitted:
		return "none, so attended"
	case now.Contactor.Closed:
		return "closed, or not read"
	}
	return "open"
}

func findingWords(one fault.Finding) string {
	text := strings.ReplaceAll(string(one.Code), "-", " ")
	if len(one.Evidence) > 0 {
		text += ": " + strings.Join(one.Evidence, "; ")
	}
	return moment(controller.Number(one.AtSeconds)) + " " + text + ". " + one.Action
}

// about names the load.
func about(now *controller.Snapshot) string {
	if now.Load == nil {
		return ""
	}
	text := now.Load.Rack + " · " + now.Load.Profile
	if now.Run != "" {
		text = "load " + now.Run + " · " + text
	}
	if who := now.Load.Request.Operator; who != "" {
		text += " · " + who
	}
	return text
}

// question is what a person is asked, with the parts as rings.
func question(now *controller.Snapshot, p *plan.Plan) *Slab {
	if now.Question == nil {
		return nil
	}
	slab := &Slab{Code: string(now.Question.Code), Heading: headings[now.Question.Code], Text: now.Question.Text}
	if now.Question.Code == controller.GoodByEye {
		slab.Text = "Is the wanted colour there? Yes makes this a good end. No, or no answer, leaves it a stop."
		return slab
	}
	if slab.Heading == "" {
		slab.Heading = "Something is not as planned."
	}
	live := now.Estimates.LiveArea
	if p == nil || p.Parts == 0 || !(float64(live) < float64(p.Area)) {
		return slab
	}
	lost := math.Round((1 - float64(live)/float64(p.Area)) * float64(p.Parts))
	lost = math.Min(math.Max(1, lost), float64(p.Parts))
	slab.Heading = fmt.Sprintf("About %.0f of %d parts may hang without contact.", lost, p.Parts)
	if p.Parts <= mostRings {
		slab.Parts, slab.Missing = p.Parts, int(lost)
	}
	return slab
}

const mostRings = 12

var headings = map[fault.Code]string{
	controller.GoodByEye:  "Good by eye?",
	fault.AreaOverstated:  "The rack behaves smaller than declared.",
	fault.PartMissing:     "A part may hang without contact.",
	fault.AreaUnderstated: "The rack behaves larger than declared.",
}

func trip(now *controller.Snapshot) *Slab {
	if now.Trip == nil {
		return nil
	}
	heading := strings.ReplaceAll(string(now.Trip.Code), "-", " ")
	text := now.Trip.Message + " " + now.Trip.Action
	for _, code := range now.Trip.Also {
		text += " Also seen: " + strings.ReplaceAll(string(code), "-", " ") + "."
	}
	return &Slab{Code: string(now.Trip.Code), Heading: strings.ToUpper(heading[:1]) + heading[1:], Text: text}
}
