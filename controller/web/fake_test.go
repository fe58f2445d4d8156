package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/colour"
	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/metrics"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// bench is a Station that says what it was told to say and keeps what it was asked.
type bench struct {
	mu       sync.Mutex
	now      *controller.Snapshot
	said     []string
	started  []controller.Request
	refuses  error
	onStart  func()
	listener chan controller.Event
}

func newBench() *bench {
	return &bench{now: snapshot("idle"), listener: make(chan controller.Event, 100)}
}

func (b *bench) Snapshot() *controller.Snapshot {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.now
}

func (b *bench) show(now *controller.Snapshot) {
	b.mu.Lock()
	defer b.mu.Unlock()
	next := *now
	next.Version = b.now.Version + 1
	b.now = &next
}

func (b *bench) Start(request controller.Request) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.refuses != nil {
		return b.refuses
	}
	b.said, b.started = append(b.said, "start"), append(b.started, request)
	if b.onStart != nil {
		b.onStart()
	}
	return nil
}

func (b *bench) Stop(byEye bool, why string) { b.say(fmt.Sprint("stop ", byEye, " ", why)) }

func (b *bench) StopAndAsk(why string) { b.say("stop, and ask: " + why) }

func (b *bench) Answer(goOn bool) error {
	if b.Snapshot().Question == nil {
		return controller.ErrNoQuestion
	}
	b.say(fmt.Sprint("answer ", goOn))
	return nil
}

func (b *bench) Acknowledge(who string) error {
	if b.Snapshot().Trip == nil {
		return controller.ErrNothingToDo
	}
	b.say("acknowledge " + who)
	return nil
}

func (b *bench) Subscribe(int) (<-chan controller.Event, func()) { return b.listener, func() {} }

func (b *bench) say(line string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.said = append(b.said, line)
}

func (b *bench) heard() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.said...)
}

// snapshot is a bench in good order in some state.
func snapshot(state string) *controller.Snapshot {
	n := controller.Unknown()
	s := &controller.Snapshot{Tick: 10, State: state, Simulated: true, T: 12.3,
		Interlock:  controller.InterlockView{Closed: true, Channels: [2]bool{true, true}, AgeMS: 20, Since: 30},
		Supply:     controller.SupplyView{SetVolts: 0, LimitAmperes: 0, Volts: 0.02, Amperes: 0, Mode: "off", Output: "off", AgeMS: 30},
		SafeToOpen: controller.SafeToOpen{Volts: 0.02, Why: "not proven"}, Bath: controller.BathView{Celsius: 20.4, AgeMS: 100},
		Estimates: controller.EstimatesView{LiveArea: n, LiveAreaSD: n, Charge: n, ThicknessByVolts: n, ThicknessByCharge: n, Density: n, SeriesOhm: n, OnsetVolts: n, Leak: n},
		Progress:  controller.Progress{Fraction: n, SecondsLeft: n, LeastLeft: n, MostLeft: n}, Waiting: []string{}, Findings: []fault.Finding{}}
	if state == "idle" {
		return s
	}
	s.Load = &controller.Load{Request: controller.Request{Plan: spacers(), Operator: "Ida"}, Rack: "eight headset spacers",
		Profile: "purple", Target: 70, StartedAt: time.Unix(1000, 0)}
	s.Run = "1"
	if process := energisedStates[state]; process {
		s.Supply = controller.SupplyView{SetVolts: 53.5, LimitAmperes: 1, Volts: 53.4, Amperes: 0.683, Mode: "constant-voltage", Output: "on", AgeMS: 30}
		s.Estimates.ThicknessByVolts, s.Estimates.Density, s.Estimates.LiveArea = 92, 3.42, 199
	}
	return s
}

var energisedStates = map[string]bool{"contact-check": true, "ramping": true, "holding": true}

// spacers is eight headset spacers to 70 V at 1 V/s: 200 cm², 5 mA/cm².
func spacers() plan.Plan {
	end := plan.End{CurrentDensity: 0.15, Current: 0.030, Sustained: 5, LongestHold: 180}
	return plan.Plan{ID: "spacers", Profile: "purple", Rack: "eight headset spacers",
		Area: 200, Parts: 8, LargestPart: 25, SmallestPart: 25, TargetVolts: 70, CeilingVolts: 70.7, CurrentLimit: 1,
		CurrentDensity: 5, Ramp: 1, End: end, ContactCheck: plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.017, LongestCheck: 60},
		Law:         plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5, Series: 3},
		Calibration: profiles.Calibration{ID: "book", Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson"},
		Expected:    plan.Expected{Thickness: 145, Lab: [3]float64{45, 55, -45}, Hex: "#ba4ac5", Name: "purple", RampSeconds: 78, HoldSeconds: 80, Charge: 54}}
}

// shelf is a journal with one run.
type shelf struct {
	fail error
	wait chan struct{} // nil: answers at once
}

func (s shelf) Run(name string) (record.Run, error) {
	if s.wait != nil {
		<-s.wait
	}
	if s.fail != nil {
		return record.Run{}, s.fail
	}
	if name != "1" && name != "last" {
		return record.Run{}, fmt.Errorf("%w as %s", journal.ErrNoRun, name)
	}
	run := record.Run{ID: "1", Intent: record.Intent{Plan: spacers(), Simulated: true, TickSeconds: 0.1},
		Result: record.Result{Event: "result", Run: "1", Outcome: record.Complete}}
	for i := range 300 {
		t := unit.Seconds(i) / 10
		run.Rows = append(run.Rows, record.Row{T: t, Volts: unit.Volts(t), Amperes: 0.7, Set: unit.Volts(t), Limit: 1, Bath: 20,
			Mode: uint8(process.ConstantVoltage), State: uint8(process.Ramping), Output: uint8(process.OutputOn)})
	}
	run.Events = []record.Event{{T: 0, Kind: "state", Text: "ramping"}}
	return run, nil
}

func (s shelf) Runs(filter journal.Filter) ([]journal.Summary, error) {
	if s.fail != nil {
		return nil, s.fail
	}
	return []journal.Summary{{ID: "1", Outcome: record.Complete, Profile: filter.Profile, FindingCodes: []fault.Code{}}}, nil
}

func surface(c profiles.Calibration) (*colour.Surface, error) {
	oxide, err := profiles.OpticalConstants(c.Film)
	if err != nil {
		return nil, err
	}
	metal, err := profiles.OpticalConstants(c.Substrate)
	if err != nil {
		return nil, err
	}
	daylight, err := profiles.Illuminant("D65")
	if err != nil {
		return nil, err
	}
	return colour.NewSurface(oxide, metal, profiles.Observer(), daylight, colour.Options{IndexScale: c.Index()})
}

var errNoPlan = errors.New("no profile is called so")

func planner(wanted PlanRequest) (controller.Request, error) {
	switch wanted.Profile {
	case "red":
		return controller.Request{}, fmt.Errorf("red: %w", plan.ErrNotReachable)
	case "nonsense":
		return controller.Request{}, errNoPlan
	}
	return controller.Request{Plan: spacers()}, nil
}

// usual is what a shop plans with where nothing else was said.
func usual(t testing.TB) profiles.Calibration {
	t.Helper()
	metal, err := profiles.OpenMetal(profiles.DefaultMetal, nil)
	require.NoError(t, err)
	book, err := profiles.OpenCalibration(metal.Book, nil)
	require.NoError(t, err)
	return book
}

// stand is a server over fakes, and a clock that a test moves.
type stand struct {
	*Server
	bench *bench
	clock time.Time
}

func newStand(t testing.TB, change ...func(*Options)) *stand {
	t.Helper()
	one := &stand{bench: newBench(), clock: time.Unix(5000, 0)}
	o := Options{Station: one.bench, History: shelf{}, Plan: planner, Surface: surface, Calibration: usual(t), Version: "test",
		CSV: func(w io.Writer, _ record.Run) error {
			_, err := io.WriteString(w, "t_s,volts,amperes\n0,0,0\n")
			return err
		},
		SVG: func(w io.Writer, _ record.Run) error { _, err := io.WriteString(w, "<svg/>"); return err },
		Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return one.clock },
		Journal: func() metrics.Journal { return metrics.Journal{} }}
	for _, apply := range change {
		apply(&o)
	}
	server, err := New(o)
	require.NoError(t, err)
	one.Server = server
	return one
}

// ask asks as a page of this machine does, and returns the status and the answer.
func (s *stand) ask(t testing.TB, method, path, body string, headers ...string) (int, map[string]any) {
	t.Helper()
	answer := s.raw(method, path, body, headers...)
	var value map[string]any
	if strings.HasPrefix(answer.Header().Get("Content-Type"), "application/json") {
		require.NoError(t, json.Unmarshal(answer.Body.Bytes(), &value), answer.Body.String())
	}
	return answer.Code, value
}

func (s *stand) raw(method, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "http://127.0.0.1:7070"+path, bytes.NewBufferString(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
			continue
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	answer := httptest.NewRecorder()
	s.Handler().ServeHTTP(answer, r)
	return answer
}

func (s *stand) plan(t testing.TB) string {
	t.Helper()
	status, answer := s.ask(t, http.MethodPost, "/api/plan", `{}`)
	require.Equal(t, http.StatusOK, status, answer)
	return answer["plan_id"].(string)
}
