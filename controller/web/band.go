package web

import (
	"fmt"
	"strings"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
)

// words are the states as people say them, with the shape that stands for each.
var words = map[string]struct{ word, shape string }{
	"idle":          {"Idle", "idle"},
	"checking":      {"Checking", "checking"},
	"contact-check": {"Contact", "hook"},
	"ramping":       {"Ramping", "rising"},
	"holding":       {"Holding", "plateau"},
	"discharging":   {"Discharging", "falling"},
	"complete":      {"Complete", "done"},
	"time-ran-out":  {"Time ran out", "hourglass"},
	"stopped":       {"Stopped", "square"},
	"tripped":       {"Tripped", "switch"},
	"refused":       {"Refused", "barred"},
}

// band is the state, what it waits for, and how long.
func band(now *controller.Snapshot, p *plan.Plan, last *record.Result) Band {
	said, known := words[now.State]
	if !known {
		said.word, said.shape = now.State, "link"
	}
	b := Band{Word: said.word, Shape: said.shape, Fill: fills[now.Supply.Output]}
	switch {
	case now.State == "checking":
		b.Caption, b.Right, b.Beneath = checking(now)
	case p != nil && busy(now.State):
		underWay(&b, now, p)
	case now.State != "idle":
		over(&b, now, last)
	case !now.Interlock.Closed:
		b.Caption = "the lid is open"
	}
	if now.Question != nil && now.Question.Code == controller.GoodByEye && now.State == "stopped" {
		b.Right, b.Beneath = moment(now.Question.Left), "to answer"
	}
	if now.Supply.Output == "unknown" {
		b.Caption = "output not known: treat as on"
	}
	return b
}

var fills = map[string]string{"on": "solid", "off": "hollow", "unknown": "hatched"}

func checking(now *controller.Snapshot) (caption, right, beneath string) {
	if len(now.Waiting) == 0 {
		return "all is there", "", ""
	}
	what, _, _ := strings.Cut(now.Waiting[0], ":")
	return what, fmt.Sprint(len(now.Waiting)), "to be seen"
}

// underWay is the band of a load that is energised, or discharging.
func underWay(b *Band, now *controller.Snapshot, p *plan.Plan) {
	b.Right, b.Beneath = left(now)
	switch now.State {
	case "contact-check":
		b.Caption = fmt.Sprintf("slow ramp to %.1f V", float64(p.ContactCheck.Volts))
		if now.Question != nil {
			b.Word, b.Caption = "Contact?", fmt.Sprintf("waits at %.0f V for your answer", float64(p.ContactCheck.Volts))
			b.Right, b.Beneath = moment(now.Question.Left), "then it trips"
		}
	case "ramping":
		b.Caption = fmt.Sprintf("%.2f V/s, then hold", float64(p.Ramp))
		if now.Supply.Mode == "constant-current" {
			b.Caption = "limited by amps, then hold"
		}
	case "holding":
		b.Caption = holding(now, p)
	case "discharging":
		b.Caption, b.Right, b.Beneath = "until the cell is below 5 V", volts(now.Supply.Volts), "V on the cell"
	}
}

func holding(now *controller.Snapshot, p *plan.Plan) string {
	if p.End.Time > 0 {
		return fmt.Sprintf("a hold of %.0f s", float64(p.End.Time))
	}
	return fmt.Sprintf("until %.2f mA/cm², now %s", float64(p.End.CurrentDensity), fixed(now.Estimates.Density, 2))
}

// left is the predicted time, with how far to trust it where that is known.
func left(now *controller.Snapshot) (right, beneath string) {
	g := now.Progress
	if !g.SecondsLeft.Known() {
		return planned(now)
	}
	beneath = "left, about"
	if g.LeastLeft.Known() && g.MostLeft.Known() {
		beneath = fmt.Sprintf("left, ±%.0f s", float64(g.MostLeft-g.LeastLeft)/2)
	}
	return moment(g.SecondsLeft), beneath
}

// over is the band of a load that has ended.
func over(b *Band, now *controller.Snapshot, last *record.Result) {
	if now.Trip != nil {
		b.Caption = strings.ReplaceAll(string(now.Trip.Code), "-", " ")
	}
	if last == nil || string(last.Outcome) != now.State {
		return
	}
	if last.EnergisedSeconds != nil {
		b.Right, b.Beneath = moment(controller.Number(*last.EnergisedSeconds)), "into the run"
	}
	switch last.Outcome {
	case record.Complete:
		b.Beneath, b.Caption = "all in all", endWords(last)
	case record.TimeRanOut:
		b.Beneath, b.Caption = "all in all", "not the colour of an end by density"
	case record.Stopped:
		b.Caption = stoppedWords(last)
	case record.Refused:
		b.Caption = strings.Join(last.Reasons, "; ")
	}
}

// stoppedWords are who stopped, and where that was.
func stoppedWords(last *record.Result) string {
	who := "good by eye"
	if !last.ByEye && len(last.Reasons) > 0 {
		who, _, _ = strings.Cut(last.Reasons[0], ", from ") // the address is for the record
		who = "by " + who
	}
	return strings.TrimSuffix(who+", "+endWords(last), ", ")
}

// endWords are the numbers at the end.
func endWords(last *record.Result) string {
	switch {
	case last.EndVolts != nil && last.EndDensity != nil:
		return fmt.Sprintf("at %.1f V and %.2f mA/cm²", *last.EndVolts, *last.EndDensity)
	case last.EndVolts != nil:
		return fmt.Sprintf("at %.1f V", *last.EndVolts)
	}
	return ""
}

// planned is what the plan leaves of the time, before the readings can tell.
func planned(now *controller.Snapshot) (right, beneath string) {
	e := now.Load.Request.Plan.Expected
	if rest := float64(e.RampSeconds+e.HoldSeconds) - float64(now.T); rest > 0 {
		return moment(controller.Number(rest)), "left, about"
	}
	return moment(now.T), "so far"
}
