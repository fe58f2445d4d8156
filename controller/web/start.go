package web

import (
	"errors"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"anodized/controller"
)

// A start from here waits for no lid: whoever closes it would get volts that somebody
// else asked for. It counts only where the lid was opened and closed since the last load,
// no longer than 3 minutes ago, so that a person is at the bench.

// StartRequest starts a plan.
type StartRequest struct {
	Plan     string `json:"plan_id"`
	Operator string `json:"operator,omitempty"`
	Note     string `json:"note,omitempty"`
}

// Started is a load that was asked for. Whether it may energise is told by events.
type Started struct {
	Plan  string    `json:"plan_id"`
	State string    `json:"state"`
	Who   string    `json:"who"`
	When  time.Time `json:"when"`
}

// started is who started a load, when, and at which tick.
type started struct {
	who  string
	when time.Time
	tick uint64
}

// starts lets one load be started at a time. Stops do not wait for it.
type starts struct {
	mu    sync.Mutex
	last  *started
	stops atomic.Uint64 // so far
}

// settled is how many ticks pass until a start shows in the snapshot at the latest:
// the one under way, and the next.
const settled = 2

func (s *Server) postRun(w http.ResponseWriter, r *http.Request) {
	stops := s.starts.stops.Load()
	wanted, ok := request[StartRequest](w, r)
	if !ok {
		return
	}
	if !personName(w, "operator", wanted.Operator) || !plainWords(w, "note", wanted.Note) {
		return
	}
	wanted.Operator = named(r, wanted.Operator)
	status, problem := s.start(wanted, r.RemoteAddr, stops)
	if status != http.StatusAccepted {
		fail(w, status, problem)
		return
	}
	reply(w, status, Started{Plan: wanted.Plan, State: "checking", Who: problem.Who, When: *problem.When})
}

// start compares and sets: of many that come at once one is accepted, and none that
// was sent before a stop outlives it. Its answer names who has started, where somebody has.
func (s *Server) start(wanted StartRequest, from string, stops uint64) (int, Problem) {
	s.starts.mu.Lock()
	defer s.starts.mu.Unlock()
	offered, known := s.plans.find(wanted.Plan)
	now := s.Station.Snapshot()
	switch {
	case known && offered.used != nil:
		return http.StatusConflict, offered.used.problem("this plan was started already: a plan is used once")
	case s.starts.last != nil && now.Tick < s.starts.last.tick+settled:
		return http.StatusConflict, s.starts.last.problem(controller.ErrBusy.Error())
	case !known:
		if busy(now.State) {
			return http.StatusConflict, s.inTheWay(now, controller.ErrBusy)
		}
		return http.StatusGone, Problem{Error: fmt.Sprintf("no such plan, or its %.0f s are over: plan again", planHolds.Seconds())}
	}
	request := offered.request
	request.Operator, request.Note, request.LidFirst = wanted.Operator, wanted.Note, true
	if err := s.Station.Start(request); err != nil {
		return refusedStart(err), s.inTheWay(now, err)
	}
	if s.starts.stops.Load() != stops {
		s.Station.Stop(false, "stopped before it began")
		return http.StatusConflict, Problem{Error: "somebody pressed stop meanwhile: start again if it is still wanted"}
	}
	one := &started{who: whoever(wanted.Operator, from), when: s.Now(), tick: now.Tick}
	s.starts.last, offered.used = one, one
	return http.StatusAccepted, one.problem("")
}

func busy(state string) bool {
	switch state {
	case "checking", "contact-check", "ramping", "holding", "discharging":
		return true
	}
	return false
}

func refusedStart(err error) int {
	if errors.Is(err, controller.ErrStationClosed) {
		return http.StatusServiceUnavailable
	}
	return http.StatusConflict
}

// inTheWay names the load that keeps another from being started.
func (s *Server) inTheWay(now *controller.Snapshot, err error) Problem {
	switch {
	case errors.Is(err, controller.ErrLidFirst):
		return Problem{Error: err.Error()}
	case s.starts.last != nil && !errors.Is(err, controller.ErrLatched):
		return s.starts.last.problem(err.Error())
	case now.Load != nil:
		return Problem{Error: err.Error(), Who: now.Load.Request.Operator, When: &now.Load.StartedAt}
	}
	return Problem{Error: err.Error()}
}

func (s *started) problem(text string) Problem {
	return Problem{Error: text, Who: s.who, When: &s.when}
}

// whoever is the name that a person gave, or where the request came from.
func whoever(name, from string) string {
	if name != "" {
		return name
	}
	return "somebody at " + from
}
