package web

import (
	"fmt"
	"math"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
)

// View is the present moment in the words of the page. The page shows it as it is:
// what there is to say is decided here, once, for the first paint and for each tick.
type View struct {
	Tick      uint64            `json:"tick"`
	Title     string            `json:"title"`
	Simulated bool              `json:"simulated"`
	State     string            `json:"state"`
	Load      string            `json:"load"` // changes with each load
	Run       string            `json:"run"`  // "" until its intent is durable, and after its end
	Energised bool              `json:"energised"`
	Band      Band              `json:"band"`
	Volts     Figure            `json:"volts"`
	Amperes   Figure            `json:"amperes"`
	Lid       *Permission       `json:"lid"` // in place of the amperes; null while the output is on
	Field     Field             `json:"field"`
	Question  *Slab             `json:"question"`
	Eye       bool              `json:"eye"` // the question is whether the end is good by eye
	Trip      *Slab             `json:"trip"`
	Foot      []Fact            `json:"foot"`
	Behaves   []Fact            `json:"behaves"`
	Bench     []Fact            `json:"bench"`
	Findings  []string          `json:"findings"`
	Notices   []string          `json:"notices"` // of the computer, above all else; seldom any
	About     string            `json:"about"`
	AgeMS     controller.Number `json:"age_ms"` // of volts and amperes
	Live      Live              `json:"live"`
}

// Band is the state of the bench: what it is, why, and how long.
type Band struct {
	Word    string `json:"word"`
	Shape   string `json:"shape"`
	Fill    string `json:"fill"` // solid: energised; hollow: read off; hatched: not known
	Caption string `json:"caption"`
	Right   string `json:"right"`
	Beneath string `json:"beneath"` // the right
}

// Figure is one large number with what it is compared with.
type Figure struct {
	Text  string            `json:"text"`
	Note  string            `json:"note"`
	Paces bool              `json:"paces"` // it limits the run at the moment
	Share controller.Number `json:"share"` // of what it may become; null: no bar
}

// Fact is a value with its name.
type Fact struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Note  string `json:"note,omitempty"`
	Age   bool   `json:"age,omitempty"` // the value is the age of the reading: the page keeps it going
}

// Slab is what needs a person.
type Slab struct {
	Code    string `json:"code"`
	Heading string `json:"heading"`
	Text    string `json:"text"`
	Parts   int    `json:"parts"`   // rings to show; 0 for none
	Missing int    `json:"missing"` // of them
}

// Live is where the curves are now.
type Live struct {
	T         controller.Number `json:"t_s"`
	Volts     controller.Number `json:"volts"`
	Density   controller.Number `json:"current_density_ma_cm2"`
	Thickness controller.Number `json:"thickness_nm"`
	Left      controller.Number `json:"seconds_left"`
}

// view is a snapshot as the page shows it. The last result belongs to the load that
// the snapshot names while nothing runs.
func (p *painter) view(now *controller.Snapshot, last *record.Result) View {
	v := View{Tick: now.Tick, Simulated: now.Simulated, State: now.State, Load: loadName(now), Run: now.Run, AgeMS: now.Supply.AgeMS,
		Energised: now.Supply.Output == "on", Field: p.field(now), Findings: []string{}, Notices: p.notices()}
	planned := planOf(now)
	v.Band = band(now, planned, last)
	v.Volts, v.Amperes = figures(now, planned)
	if now.Supply.Output != "on" {
		lid := permission(now)
		v.Lid = &lid
	}
	v.Question, v.Trip = question(now, planned), trip(now)
	v.Eye = v.Question != nil && v.Question.Code == string(controller.GoodByEye)
	v.Foot = foot(now)
	v.Behaves, v.Bench = behaves(now, planned), benchFacts(now)
	for _, one := range now.Findings {
		v.Findings = append(v.Findings, findingWords(one))
	}
	v.About = about(now)
	v.Live = Live{now.T, now.Supply.Volts, now.Estimates.Density, now.Estimates.ThicknessByVolts, now.Progress.SecondsLeft}
	v.Title = title(v)
	return v
}

func planOf(now *controller.Snapshot) *plan.Plan {
	if now.Load == nil {
		return nil
	}
	return &now.Load.Request.Plan
}

func title(v View) string {
	text := v.Band.Word
	if v.Energised {
		text += " " + v.Volts.Text + " V"
	}
	text += " · anodized"
	if v.Simulated {
		text = "SIMULATED " + text
	}
	return text
}

// moment is a time as minutes and seconds; "" where it is not known.
func moment(seconds controller.Number) string {
	if !seconds.Known() {
		return ""
	}
	whole := int(math.Round(math.Max(0, float64(seconds))))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

func volts(n controller.Number) string { return fixed(n, 1) }

// amperes has the digits that fit the slot.
func amperes(n controller.Number) string {
	if math.Abs(float64(n)) >= 9.9995 {
		return fixed(n, 2)
	}
	return fixed(n, 3)
}

func fixed(n controller.Number, decimals int) string {
	if !n.Known() {
		return "–"
	}
	text := fmt.Sprintf("%.*f", decimals, float64(n))
	if negativeZero := fmt.Sprintf("-%.*f", decimals, 0.0); text == negativeZero {
		return text[1:]
	}
	return text
}

// ageWords is how old a reading is, as the page says it.
func ageWords(ms controller.Number) string {
	if !ms.Known() {
		return "not read"
	}
	return fmt.Sprintf("%.1f s ago", float64(ms)/1000)
}
