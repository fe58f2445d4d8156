package web

import (
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"anodized/controller"
	"anodized/controller/review"
)

// The bounds of what is answered at once.
const (
	readWait    = 5 * time.Second // for the journal, whose disk may stall
	mostScrapes = 4
	mostReads   = 8 // of the journal, in all
)

const stopPath = "/api/stop"

// route is one thing that can be asked for. The table of routes is the API: it wires
// the handlers and writes the OpenAPI description.
type route struct {
	method, path string
	summary      string
	ask          []parameter
	in           any // body of a POST, as its zero value; nil for none
	out          any // answer as JSON, as its zero value; nil where it is another kind
	kind         string
	status       int
	fails        []int
	operates     bool // not for those who only watch
	handler      http.Handler
}

// parameter is one of the query.
type parameter struct{ name, what string }

func (s *Server) routes() []route {
	return append(append(s.present(), s.past()...), s.orders()...)
}

func (s *Server) present() []route {
	return []route{
		{path: "/{$}", summary: "The page.", kind: "text/html", handler: http.HandlerFunc(s.getPage)},
		{path: "/chart", summary: "The chart of the bath: the colours by volts, with whose law it is.", kind: "text/html", fails: []int{404}, handler: http.HandlerFunc(s.getChart)},
		{path: "/api/openapi.json", summary: "This description.", kind: "application/json", handler: http.HandlerFunc(s.getDescription)},
		{path: "/api/status", summary: "The bench and its run at the end of the last tick.", out: controller.Snapshot{}, handler: http.HandlerFunc(s.getStatus)},
		{path: "/api/events", summary: "Server-sent events: snapshot (as of /api/status), event, result. A slow client misses snapshots, never a result.",
			ask: []parameter{{"page", "now in place of snapshot: the words of the page"}}, kind: "text/event-stream", fails: []int{503}, handler: http.HandlerFunc(s.getEvents)},
		{path: "/api/load", summary: "The load that runs, or ran last, with its plan as a curve.", out: Load{}, fails: []int{404}, handler: http.HandlerFunc(s.getLoad)},
		{path: "/api/colours", summary: "The colours of the film by the nanometre, with their calibration.", out: Colours{}, handler: http.HandlerFunc(s.getColours)},
		{path: "/healthz", summary: "Whether the loop that owns the bench is alive.", out: Health{}, fails: []int{503}, handler: http.HandlerFunc(s.getHealth)},
		{path: "/readyz", summary: "Whether the bench answers.", out: Health{}, fails: []int{503}, handler: http.HandlerFunc(s.getReady)},
		{path: "/metrics", summary: "Prometheus, from the last snapshot: a scrape touches no device.", kind: "text/plain", fails: []int{503}, handler: s.metrics()},
	}
}

func (s *Server) past() []route {
	places := make(chan struct{}, mostReads)
	read := func(next http.Handler) http.Handler { return limitedTo(places, next) }
	return []route{
		{path: "/api/runs", summary: "The runs on record, newest first.", out: RunList{}, fails: []int{400, 503},
			ask:     []parameter{{"limit", "so many, 100 if not said"}, {"before", "only with a smaller number"}, {"profile", "only of this profile"}, {"outcome", "only with this outcome"}},
			handler: read(http.HandlerFunc(s.getRuns))},
		{path: "/api/runs/{id}", summary: "One run, by its number, or last.", out: Run{}, fails: []int{404, 503}, handler: read(s.recorded(showRun))},
		{path: "/api/runs/{id}/curve", summary: "Its curve while the output was on.", out: Curve{}, fails: []int{400, 404, 503},
			ask: []parameter{{"points", "at most so many"}}, handler: read(s.recorded(showCurve))},
		{path: "/api/runs/{id}/curve.csv", summary: "The same as a curve file.", kind: "text/csv", fails: []int{404, 422, 503},
			handler: read(s.recorded(s.draw("text/csv; charset=utf-8", s.CSV)))},
		{path: "/api/runs/{id}/curve.svg", summary: "The same as a picture.", kind: "image/svg+xml", fails: []int{404, 422, 503},
			handler: read(s.recorded(s.draw("image/svg+xml", s.SVG)))},
		{path: "/api/runs/{id}/review", summary: "What the curve says.", out: review.Review{}, fails: []int{404, 503}, handler: read(s.recorded(showReview))},
	}
}

func (s *Server) orders() []route {
	refused := []int{400, 403, 408, 409, 413, 415, 421}
	return []route{
		{method: http.MethodPost, path: "/api/plan", operates: true, summary: "A plan, with the name under which it can be started once within 120 s. Energises nothing.",
			in: PlanRequest{}, out: PlanAnswer{}, fails: []int{400, 403, 408, 413, 415, 421, 422, 503}, handler: http.HandlerFunc(s.postPlan)},
		{method: http.MethodPost, path: "/api/runs", operates: true, summary: "Starts a plan. It counts only within 3 minutes of the lid's closing, which must come first: it waits for no lid, and is a conflict without; a second start is a conflict that names who started and when.",
			in: StartRequest{}, out: Started{}, status: http.StatusAccepted, fails: append([]int{410, 503}, refused...), handler: http.HandlerFunc(s.postRun)},
		{method: http.MethodPost, path: stopPath, summary: "Stops. It needs no body and no credentials, and is never refused but to a page of another site.",
			in: StopRequest{}, out: StopAnswer{}, fails: []int{403, 421}, handler: http.HandlerFunc(s.postStop)},
		{method: http.MethodPost, path: "/api/answer", operates: true, summary: "Answers the open question.",
			in: AnswerRequest{}, out: Taken{}, status: http.StatusAccepted, fails: refused, handler: http.HandlerFunc(s.postAnswer)},
		{method: http.MethodPost, path: "/api/acknowledge", operates: true, summary: "Acknowledges a trip in somebody's name. It clears nothing whose cause is still there, and starts nothing.",
			in: AcknowledgeRequest{}, out: Taken{}, status: http.StatusAccepted, fails: refused, handler: http.HandlerFunc(s.postAcknowledge)},
	}
}

// metrics are written from the snapshot alone.
func (s *Server) metrics() http.Handler {
	registry := prometheus.NewRegistry()
	registry.MustRegister(s.collector)
	return promhttp.HandlerFor(registry, promhttp.HandlerOpts{MaxRequestsInFlight: mostScrapes})
}

// limited answers 503 while so many are being answered already.
func limited(most int, next http.Handler) http.Handler {
	return limitedTo(make(chan struct{}, most), next)
}

// limitedTo is limited by places that several share.
func limitedTo(places chan struct{}, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case places <- struct{}{}:
			defer func() { <-places }()
			next.ServeHTTP(w, r)
		default:
			w.Header().Set("Retry-After", "1")
			fail(w, http.StatusServiceUnavailable, Problem{Error: "too much is being read at once: try again"})
		}
	})
}

func (s *Server) getDescription(w http.ResponseWriter, _ *http.Request) {
	send(w, http.StatusOK, "application/json; charset=utf-8", s.document)
}
