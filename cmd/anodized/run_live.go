package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"anodized/controller"
	"anodized/controller/colour"
	"anodized/controller/report/terminal"
	"anodized/hal/unit"
)

// live is a load as a picture that is drawn again in place.
type live struct {
	job     *job
	station *controller.Station
	bench   bench
	out     io.Writer
	mode    terminal.ColourMode
	screen  terminal.Screen
	surface *colour.Surface
	wanted  terminal.Swatch
	plan    []terminal.Column // what the plan expects, a column a second
	past    []terminal.Column
	lines   []terminal.Line
	now     terminal.Swatch
	broken  error // of writing to the terminal
}

func newLive(j *job, e env, a attended) (*live, error) {
	surface, err := surfaceOf(j.frozen.Calibration)
	if err != nil {
		return nil, err
	}
	l := &live{job: j, station: a.station, bench: a.bench, out: e.stdout, mode: terminal.ModeOf(e.getenv), surface: surface}
	l.wanted = l.swatch(j.plan.Expected.Thickness)
	l.plan, err = l.expected()
	return l, err
}

// swatch is the colour of a film with its name.
func (l *live) swatch(d unit.Nanometres) terminal.Swatch {
	if math.IsNaN(float64(d)) {
		return terminal.Swatch{}
	}
	seen := l.surface.Screen(d)
	return terminal.Swatch{Name: l.surface.Lab(d).LCh().Name(), Thickness: d, Beyond: !seen.InGamut,
		Colour: terminal.RGB{R: seen.Red, G: seen.Green, B: seen.Blue}}
}

// expected follows the plan by its own law.
func (l *live) expected() ([]terminal.Column, error) {
	points, err := l.job.plan.Trace(1)
	columns := make([]terminal.Column, len(points))
	for i, point := range points {
		columns[i] = terminal.Column{T: point.Time, Volts: point.Volts, Density: point.Amperes.Over(l.job.plan.Area), Film: l.swatch(point.Thickness)}
	}
	return columns, err
}

func (l *live) expectedEnd() unit.Seconds {
	e := l.job.plan.Expected
	return e.RampSeconds + e.HoldSeconds
}

func (l *live) event(ev controller.Event) error {
	switch ev.Kind {
	case controller.KindResult:
		l.draw(true)
		if l.broken == nil {
			_, l.broken = io.WriteString(l.out, "\n\n")
		}
		if l.broken != nil {
			return l.broken
		}
		return printResult(l.out, *ev.Result)
	case controller.KindProgress:
		l.follow(ev)
	case controller.KindState, controller.KindFinding, controller.KindWarning, controller.KindAnswer, controller.KindNote:
		l.lines = append(l.lines, terminal.Line{T: unit.Seconds(ev.T), Text: eventWords(ev)})
	}
	return l.broken
}

// follow keeps a column a second of the energised part.
func (l *live) follow(ev controller.Event) {
	if ev.T <= 0 || !ev.Progress.Volts.Known() || ev.State == "discharging" {
		return
	}
	now := l.swatch(unit.Nanometres(ev.Progress.ThicknessByVolts))
	l.now = now
	l.past = append(l.past, terminal.Column{T: unit.Seconds(ev.T), Volts: unit.Volts(ev.Progress.Volts),
		Density: unit.CurrentDensity(ev.Progress.Density), Film: now})
}

func (l *live) redraw() { l.draw(false) }

func (l *live) answered(err error) {
	if err != nil {
		l.lines = append(l.lines, terminal.Line{T: unit.Seconds(math.NaN()), Text: err.Error()})
	}
}

func (l *live) draw(ended bool) {
	if l.broken != nil {
		return
	}
	width, height := terminalSize()
	picture := terminal.Render(l.view(ended), width, height, l.mode)
	_, l.broken = io.WriteString(l.out, l.screen.Frame(picture))
}

func (l *live) view(ended bool) terminal.View {
	s, p := l.station.Snapshot(), l.job.plan
	v := terminal.View{
		Simulated: s.Simulated, Load: loadWords(s.Run, p.Rack, p.Profile), Clock: time.Now().Format("15:04:05"), State: s.State,
		Output: outputOf(s.Supply.Output), Why: whyWords(s, l.job), Left: unit.Seconds(s.Progress.SecondsLeft),
		LeastLeft: unit.Seconds(s.Progress.LeastLeft), MostLeft: unit.Seconds(s.Progress.MostLeft),
		Volts: unit.Volts(s.Supply.Volts), Target: p.TargetVolts, Amperes: unit.Amperes(s.Supply.Amperes), Limit: p.CurrentLimit,
		Density: unit.CurrentDensity(s.Estimates.Density), LimitAt: p.CurrentDensity, Pace: paceOf(s), Age: unit.Seconds(s.Supply.AgeMS / 1000),
		Now: l.now, ByCharge: unit.Nanometres(s.Estimates.ThicknessByCharge), Wanted: l.wanted, DE00: l.difference(),
		Past: l.past, To: l.ahead(unit.Seconds(s.T)), EndTime: l.expectedEnd(), Lines: l.lines, Bench: l.benchWords(s), Ended: ended,
	}
	if ended {
		nan := unit.Seconds(math.NaN())
		v.Left, v.LeastLeft, v.MostLeft = nan, nan, nan
	}
	if p.End.Time == 0 {
		v.EndAt = p.End.CurrentDensity
	}
	if s.Question != nil {
		v.Question = "y goes on, n stops: " + s.Question.Text // the keys first: the rest may be cut
	}
	if s.Trip != nil {
		v.Trip = s.Trip.Message + " " + s.Trip.Action
	}
	return v
}

// ahead is what the plan expects from a moment on.
func (l *live) ahead(t unit.Seconds) []terminal.Column {
	for i, column := range l.plan {
		if column.T > t {
			return l.plan[i:]
		}
	}
	return nil
}

func (l *live) difference() float64 {
	if l.now.Name == "" {
		return math.NaN()
	}
	return colour.Difference(l.surface.Lab(l.now.Thickness), l.surface.Lab(l.wanted.Thickness))
}

func loadWords(run, rack, profile string) string {
	if run == "" {
		return rack + " · " + profile
	}
	return "load " + run + " · " + rack + " · " + profile
}

func outputOf(word string) terminal.Output {
	return map[string]terminal.Output{"on": terminal.On, "off": terminal.Off}[word] // else Unknown
}

func paceOf(s *controller.Snapshot) terminal.Pace {
	switch s.Supply.Mode {
	case "constant-voltage":
		return terminal.ByVolts
	case "constant-current":
		return terminal.ByAmperes
	}
	return terminal.NoPace
}

// whyWords is what the load waits for.
func whyWords(s *controller.Snapshot, j *job) string {
	end := j.plan.End
	switch s.State {
	case "checking", "refused":
		return strings.Join(s.Waiting, "; ")
	case "contact-check":
		return fmt.Sprintf("slow ramp to %.1f V", float64(j.plan.ContactCheck.Volts))
	case "ramping":
		return fmt.Sprintf("to %.1f V", float64(j.plan.TargetVolts))
	case "holding":
		if end.Time > 0 {
			return fmt.Sprintf("for %.0f s", float64(end.Time))
		}
		return fmt.Sprintf("until %.2f mA/cm2 for %.0f s, now %.2f", float64(end.CurrentDensity), float64(end.Sustained), float64(s.Estimates.Density))
	case "discharging":
		return "until the cell is below 5 V"
	}
	return ""
}

func (l *live) benchWords(s *controller.Snapshot) string {
	words := []string{"lid open"}
	if s.Interlock.Closed {
		words[0] = "lid closed"
	}
	if s.Supply.Output != "off" {
		words[0] += ", do not open"
	}
	if s.Bath.Celsius.Known() {
		words = append(words, fmt.Sprintf("bath %.1f °C", float64(s.Bath.Celsius)))
	}
	words = append(words, "output "+s.Supply.Output)
	if s.Supply.Output == "off" && !s.SafeToOpen.Proven {
		words = append(words, "not proven dead: bleed lead, then meter")
	}
	if l.bench.pace != "" {
		words = append(words, "clock "+strings.TrimPrefix(l.bench.pace, "simulated time, "))
	}
	return strings.Join(words, " · ")
}
