package web

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

func viewOf(t *testing.T, now *controller.Snapshot, last *record.Result) View {
	t.Helper()
	v := newPainter(Options{Surface: surface, Calibration: usual(t)}).view(now, last)
	_, err := json.Marshal(v)
	require.NoError(t, err)
	return v
}

func TestEveryStateHasItsWordAndShape(t *testing.T) {
	for state := process.Idle; state <= process.Refused; state++ {
		said, known := words[state.String()]
		assert.True(t, known, state)
		assert.NotEmpty(t, said.word)
		v := viewOf(t, snapshot(state.String()), nil)
		assert.Equal(t, said.word, v.Band.Word)
		fill := "hollow"
		if state.Energised() {
			fill = "solid"
		}
		assert.Equal(t, fill, v.Band.Fill, state)
		assert.Equal(t, state.Energised(), v.Lid == nil, "the lid's permission stands where the amperes were")
	}
}

func TestBand(t *testing.T) {
	seconds, volts, density := 165.0, 69.98, 0.149
	for name, c := range map[string]struct {
		state  string
		change func(*controller.Snapshot)
		last   *record.Result
		want   Band
	}{
		"ramping": {"ramping", func(n *controller.Snapshot) { n.Progress.SecondsLeft = 103 }, nil,
			Band{"Ramping", "rising", "solid", "1.00 V/s, then hold", "1:43", "left, about"}},
		"ramping, from the plan": {"ramping", nil, nil, Band{"Ramping", "rising", "solid", "1.00 V/s, then hold", "2:26", "left, about"}},
		"limited":                {"ramping", func(n *controller.Snapshot) { n.Supply.Mode = "constant-current" }, nil, Band{"Ramping", "rising", "solid", "limited by amps, then hold", "2:26", "left, about"}},
		"holding": {"holding", func(n *controller.Snapshot) {
			n.Estimates.Density, n.Progress = 0.22, controller.Progress{SecondsLeft: 34, LeastLeft: 31, MostLeft: 37}
		}, nil, Band{"Holding", "plateau", "solid", "until 0.15 mA/cm², now 0.22", "0:34", "left, ±3 s"}},
		"unknown output": {"holding", func(n *controller.Snapshot) { n.Supply.Output = "unknown" }, nil,
			Band{"Holding", "plateau", "hatched", "output not known: treat as on", "2:26", "left, about"}},
		"discharging": {"discharging", func(n *controller.Snapshot) { n.Supply.Volts = 31.6 }, nil,
			Band{"Discharging", "falling", "hollow", "until the cell is below 5 V", "31.6", "V on the cell"}},
		"checking": {"checking", func(n *controller.Snapshot) { n.Waiting = []string{"the lid is open: close it", "more"} }, nil,
			Band{"Checking", "checking", "hollow", "the lid is open", "2", "to be seen"}},
		"complete": {"complete", nil, &record.Result{Outcome: record.Complete, EnergisedSeconds: &seconds, EndVolts: &volts, EndDensity: &density},
			Band{"Complete", "done", "hollow", "at 70.0 V and 0.15 mA/cm²", "2:45", "all in all"}},
		"of an older load": {"complete", nil, &record.Result{Outcome: record.Stopped, EnergisedSeconds: &seconds}, Band{"Complete", "done", "hollow", "", "", ""}},
		"by eye": {"stopped", nil, &record.Result{Outcome: record.Stopped, ByEye: true, EnergisedSeconds: &seconds, EndVolts: &volts},
			Band{"Stopped", "square", "hollow", "good by eye, at 70.0 V", "2:45", "into the run"}},
		"stopped": {"stopped", nil, &record.Result{Outcome: record.Stopped, Reasons: []string{"the page, from 127.0.0.1:4"}, EndVolts: &volts, EndDensity: &density},
			Band{"Stopped", "square", "hollow", "by the page, at 70.0 V and 0.15 mA/cm²", "", ""}},
		"stopped before": {"stopped", nil, &record.Result{Outcome: record.Stopped, Reasons: []string{"SIGTERM"}}, Band{"Stopped", "square", "hollow", "by SIGTERM", "", ""}},
		"refused": {"refused", nil, &record.Result{Outcome: record.Refused, Reasons: []string{"the lid is open: close it"}},
			Band{"Refused", "barred", "hollow", "the lid is open: close it", "", ""}},
		"idle, lid open": {"idle", func(n *controller.Snapshot) { n.Interlock.Closed = false }, nil, Band{"Idle", "idle", "hollow", "the lid is open", "", ""}},
	} {
		now := snapshot(c.state)
		if c.change != nil {
			c.change(now)
		}
		assert.Equal(t, c.want, viewOf(t, now, c.last).Band, name)
	}
}

func TestPermissionToOpen(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*controller.Snapshot)
		want   string
	}{
		"proven":          {func(n *controller.Snapshot) { n.SafeToOpen.Proven = true }, "Safe to open"},
		"proven, but old": {func(n *controller.Snapshot) { n.SafeToOpen.Proven, n.Supply.AgeMS = true, 1200 }, "Do not open"},
		"off and low":     {func(*controller.Snapshot) {}, "Not proven"},
		"falling":         {func(n *controller.Snapshot) { n.Supply.Volts = 31 }, "Do not open yet"},
		"on":              {func(n *controller.Snapshot) { n.Supply.Output = "on" }, "Do not open"},
		"unknown":         {func(n *controller.Snapshot) { n.Supply.Output = "unknown" }, "Do not open"},
		"not read":        {func(n *controller.Snapshot) { n.Supply.AgeMS = controller.Unknown() }, "Do not open"},
		"volts not known": {func(n *controller.Snapshot) { n.Supply.Volts = controller.Unknown() }, "Do not open"},
	} {
		now := snapshot("complete")
		c.change(now)
		assert.Equal(t, c.want, permission(now).Word, name)
	}
}

func TestGapOfTheMatchingField(t *testing.T) {
	for de00, want := range map[float64]float64{0: 0, 1: 0, 10: 8.5, 20: 17, 90: 17} {
		assert.InDelta(t, want, gap(de00), 1e-9)
	}
	v := viewOf(t, snapshot("ramping"), nil)
	assert.Equal(t, 17.0, v.Field.Gap)
	assert.Equal(t, "92 of 145 nm", v.Field.Beneath)
	assert.Regexp(t, `^ΔE \d\d$`, v.Field.Words)
	assert.Nil(t, viewOf(t, snapshot("idle"), nil).Field.Wanted)
}

func TestQuestionAndTripBecomeSlabs(t *testing.T) {
	v := viewOf(t, asking(), nil)
	assert.Equal(t, &Slab{Code: "area-overstated", Heading: "About 2 of 8 parts may hang without contact.", Text: "The rack behaves like 150 cm2.", Parts: 8, Missing: 2}, v.Question)
	assert.Equal(t, Band{"Contact?", "hook", "solid", "waits at 8 V for your answer", "0:52", "then it trips"}, v.Band)
	assert.Equal(t, "nothing", v.Field.Words)
	assert.False(t, v.Volts.Paces)

	assert.False(t, v.Eye)

	v = viewOf(t, askingEye(), &record.Result{Outcome: record.Complete})
	assert.True(t, v.Eye)
	assert.Equal(t, "Good by eye?", v.Question.Heading)
	assert.Equal(t, Band{"Stopped", "square", "hollow", "", "0:17", "to answer"}, v.Band)

	v = viewOf(t, tripped(), nil)
	assert.Equal(t, "Contact lost", v.Trip.Heading)
	assert.Equal(t, "contact lost", v.Band.Caption)
	assert.Nil(t, v.Question)

	more := tripped()
	more.Trip.Also = []fault.Code{fault.SupplySilent}
	assert.Equal(t, v.Trip.Text+" Also seen: supply silent.", viewOf(t, more, nil).Trip.Text)
	assert.Equal(t, "Contact lost", viewOf(t, more, nil).Trip.Heading, "the first cause stays")
}

func TestFigures(t *testing.T) {
	v := viewOf(t, snapshot("ramping"), nil)
	assert.Equal(t, "53.4", v.Volts.Text)
	assert.True(t, v.Volts.Paces)
	assert.Equal(t, "of 70.0", v.Volts.Note)
	assert.Equal(t, "of 1.00 · 3.42 mA/cm²", v.Amperes.Note)
	assert.InDelta(t, 0.683, float64(v.Amperes.Share), 1e-9)
	for n, want := range map[controller.Number]string{0.0004: "0.000", -0.0004: "0.000", 9.9996: "10.00", 12.345: "12.35", controller.Number(-1.5): "-1.500"} {
		assert.Equal(t, want, amperes(n))
	}
	assert.Equal(t, "–", volts(controller.Unknown()))
}

func TestBenchFacts(t *testing.T) {
	now := snapshot("idle")
	value := func(name string) string {
		for _, fact := range benchFacts(now) {
			if fact.Name == name {
				return fact.Value
			}
		}
		return "absent"
	}
	assert.Equal(t, "none told of", value("E-stop"))
	assert.Equal(t, "none, so attended", value("contactor"))
	now.EmergencyStop = controller.StopView{Fitted: true}
	assert.Equal(t, "none told of", value("ventilation"))
	now.Ventilation = controller.VentilationView{Fitted: true}
	assert.Equal(t, "not proven", value("ventilation"))
	now.Ventilation.Proven = true
	assert.Equal(t, "proven", value("ventilation"))
	now.Contactor = controller.ContactorView{Fitted: true}
	assert.Equal(t, []string{"released", "open"}, []string{value("E-stop"), value("contactor")})
	now.EmergencyStop.Pressed, now.Contactor.Closed = true, true
	assert.Equal(t, []string{"pressed, or not read", "closed, or not read"}, []string{value("E-stop"), value("contactor")})
	assert.Equal(t, "absent", value("voltmeter"))
	now.Voltmeter = controller.VoltmeterView{Fitted: true, Volts: 69.984, AgeMS: 340}
	assert.Equal(t, "69.98 V", value("voltmeter"))
	assert.Equal(t, "0.3 s old", benchFacts(now)[5].Note)
	now.Voltmeter = controller.VoltmeterView{Fitted: true, Volts: controller.Unknown(), AgeMS: controller.Unknown()}
	assert.Equal(t, "–", value("voltmeter"))
	assert.Equal(t, "never read", benchFacts(now)[5].Note)
	for channels, want := range map[[2]bool]string{{true, true}: "closed", {false, false}: "open", {true, false}: "channels differ"} {
		now.Interlock = controller.InterlockView{Closed: channels[0] && channels[1], Channels: channels, AgeMS: 10}
		assert.Equal(t, want, value("lid"))
	}
	now.Interlock.AgeMS = 1500
	assert.Equal(t, "not known", value("lid"))
}

// BenchmarkTickForThePage is what a watched tick costs the windows.
func BenchmarkTickForThePage(b *testing.B) {
	p := newPump(newBench(), newPainter(Options{Surface: surface, Calibration: usual(b)}))
	now := snapshot("ramping")
	b.ReportAllocs()
	for b.Loop() {
		p.messages(now, nil)
	}
}

func TestNoticesStandAboveThePage(t *testing.T) {
	s := newStand(t, func(o *Options) { o.Notices = func() []string { return []string{"No load begins: <because>"} } })
	page := s.raw(http.MethodGet, "/", "").Body.String()
	assert.Contains(t, page, ` noticed`)
	assert.Contains(t, page, `<p>No load begins: &lt;because&gt;</p></section>`)
	assert.Equal(t, []string{"No load begins: <because>"}, s.painter.view(snapshot("idle"), nil).Notices)
	s = newStand(t)
	assert.Contains(t, s.raw(http.MethodGet, "/", "").Body.String(), `<section id="notices" aria-label="to be known before the next load" hidden></section>`)
	assert.NotNil(t, s.painter.view(snapshot("idle"), nil).Notices, "a list in JSON, too")
}
