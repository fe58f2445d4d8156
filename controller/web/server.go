package web

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"anodized/controller"
	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/metrics"
	"anodized/controller/record"
	"anodized/profiles"
)

// Station is what the windows need of the one that owns the bench.
type Station interface {
	Snapshot() *controller.Snapshot // never nil
	Start(request controller.Request) error
	Stop(byEye bool, why string)
	StopAndAsk(why string)
	Answer(goOn bool) error
	Acknowledge(who string) error
	Subscribe(buffer int) (<-chan controller.Event, func())
}

// History is the read side of the journal.
type History interface {
	Run(name string) (record.Run, error)
	Runs(filter journal.Filter) ([]journal.Summary, error)
}

// Planner makes a load ready from what a person named. Its error is told to that
// person.
type Planner func(PlanRequest) (controller.Request, error)

// Drawer writes a recorded run in some form.
type Drawer func(w io.Writer, run record.Run) error

// Options are what a server stands on. All are needed but those with a default.
type Options struct {
	Station     Station
	History     History
	Plan        Planner
	CSV, SVG    Drawer
	Surface     func(profiles.Calibration) (*colour.Surface, error)
	Calibration profiles.Calibration // for the colours before the first load
	Version     string
	Journal     func() metrics.Journal // nil: no metrics of the journal
	Notices     func() []string        // what a person must know before the next load; nil: none. It must not wait
	Hosts       []string               // names that this bench is called by, beside those of this machine
	Persons     []Person               // none: whoever reaches the server may do everything
	Log         *slog.Logger
	Now         func() time.Time // time.Now
}

// Server is the page and the API over one Station. Run it, then serve its Handler.
type Server struct {
	Options
	plans     *plans
	pump      *pump
	painter   *painter
	planning  chan struct{} // a place for each plan that is being made
	reading   chan struct{} // and for each read of the journal, until its disk has answered
	starts    starts
	collector *metrics.Collector
	origin    *http.CrossOriginProtection
	hosts     map[string]bool
	gate      *gate
	document  []byte // the OpenAPI description
	handler   http.Handler
	refused   atomic.Uint64
}

// New returns a server that has not begun to follow its Station yet.
func New(o Options) (*Server, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	s := &Server{Options: o, plans: newPlans(o.Now), planning: make(chan struct{}, mostPlanning), reading: make(chan struct{}, mostReads), origin: http.NewCrossOriginProtection(),
		hosts: hostList(o.Hosts), gate: newGate(o.Persons)}
	s.painter = newPainter(o)
	s.pump = newPump(o.Station, s.painter)
	s.collector = metrics.New(o.Station, metrics.Options{Version: o.Version, Journal: o.Journal, Now: o.Now})
	s.pump.counted = s.collector.Count
	routes := s.routes()
	var err error
	if s.document, err = describe(routes, o.Version); err != nil {
		return nil, fmt.Errorf("describe the API: %w", err)
	}
	s.handler, err = s.wire(routes)
	return s, err
}

// Handler answers everything that the server knows.
func (s *Server) Handler() http.Handler { return s.handler }

// wire puts the guards before the routes.
func (s *Server) wire(routes []route) (http.Handler, error) {
	mux := http.NewServeMux()
	for path, methods := range allowed(routes) {
		mux.HandleFunc(path, otherMethod(methods))
	}
	for _, r := range routes {
		if r.operates {
			r.handler = s.operate(r.handler)
		}
		mux.Handle(r.verb()+" "+r.path, r.handler)
	}
	files, err := pageFiles()
	if err != nil {
		return nil, err
	}
	mux.Handle("GET /page/", files)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		fail(w, http.StatusNotFound, Problem{Error: "there is nothing at this address: GET /api/openapi.json lists what there is"})
	})
	return s.guard(mux), nil
}
