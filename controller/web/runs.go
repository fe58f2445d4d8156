package web

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"regexp"
	"strconv"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/review"
)

// runName is what a run is called. Nothing else reaches the journal.
var runName = regexp.MustCompile(`^(last|[1-9][0-9]{0,8})$`)

// RunList is the list of runs, newest first.
type RunList struct {
	Runs []journal.Summary `json:"runs"`
}

// Run is one run. Its rows are counted only: the curve gives them.
type Run struct {
	journal.Summary
	Rows   int            `json:"rows"`
	Intent record.Intent  `json:"intent"`
	Events []record.Event `json:"events"`
	Result record.Result  `json:"result"`
}

// mostListed is how many runs a list has at most.
const mostListed = 1000

func (s *Server) getRuns(w http.ResponseWriter, r *http.Request) {
	ask := r.URL.Query()
	filter := journal.Filter{Limit: 100, Profile: ask.Get("profile"), Outcome: record.Outcome(ask.Get("outcome"))}
	for name, to := range map[string]func(int64){
		"limit":  func(n int64) { filter.Limit = int(min(n, mostListed)) },
		"before": func(n int64) { filter.Before = n },
	} {
		if !ask.Has(name) {
			continue
		}
		number, err := strconv.ParseInt(ask.Get(name), 10, 32)
		if err != nil || number < 1 {
			fail(w, http.StatusBadRequest, Problem{Error: name + " must be a whole number above 0"})
			return
		}
		to(number)
	}
	list, err := inTime(s.reading, readWait, func() ([]journal.Summary, error) { return s.History.Runs(filter) })
	if err != nil {
		s.failRead(w, err)
		return
	}
	reply(w, http.StatusOK, RunList{Runs: list})
}

// recorded answers with something of a recorded run.
func (s *Server) recorded(answer func(http.ResponseWriter, *http.Request, record.Run)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name := r.PathValue("id")
		if !runName.MatchString(name) {
			fail(w, http.StatusNotFound, Problem{Error: "a run is called by its number, or last"})
			return
		}
		run, err := inTime(s.reading, readWait, func() (record.Run, error) { return s.History.Run(name) })
		if err != nil {
			s.failRead(w, err)
			return
		}
		answer(w, r, run)
	})
}

func (s *Server) failRead(w http.ResponseWriter, err error) {
	if errors.Is(err, journal.ErrNoRun) {
		fail(w, http.StatusNotFound, Problem{Error: "there is no such run"})
		return
	}
	if errors.Is(err, errNotInTime) {
		fail(w, http.StatusServiceUnavailable, Problem{Error: err.Error()})
		return
	}
	s.Log.Error("the journal could not be read", "error", err)
	fail(w, http.StatusInternalServerError, Problem{Error: "the journal could not be read: " + err.Error()})
}

func showRun(w http.ResponseWriter, _ *http.Request, run record.Run) {
	events := run.Events
	if events == nil {
		events = []record.Event{}
	}
	reply(w, http.StatusOK, Run{journal.Summarise(run), len(run.Rows), run.Intent, events, run.Result})
}

func showReview(w http.ResponseWriter, _ *http.Request, run record.Run) {
	reply(w, http.StatusOK, review.OfRun(run))
}

// draw answers with a run in some other form.
func (s *Server) draw(kind string, write func(io.Writer, record.Run) error) func(http.ResponseWriter, *http.Request, record.Run) {
	return func(w http.ResponseWriter, _ *http.Request, run record.Run) {
		var body bytes.Buffer
		if err := write(&body, run); err != nil {
			fail(w, http.StatusUnprocessableEntity, Problem{Error: "this run cannot be shown so: " + err.Error()})
			return
		}
		send(w, http.StatusOK, kind, body.Bytes())
	}
}
