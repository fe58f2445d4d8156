package web

import (
	"crypto/rand"
	"errors"
	"net/http"
	"sync"
	"time"

	"anodized/controller"
	"anodized/controller/plan"
)

// A plan holds for so long, and so many are kept at once.
const (
	planHolds = 120 * time.Second
	mostPlans = 64
)

// The history of a rack is read from the disk: a plan waits so long for it, and no more of
// them wait at once.
const (
	planWait     = 5 * time.Second
	mostPlanning = 8
)

// PlanRequest names what a load is made from: what is embedded by its name, or a
// whole file of the shop as text. What is left out is the usual.
type PlanRequest struct {
	Profile     string `json:"profile,omitempty"`      // name of an embedded profile
	ProfileYAML string `json:"profile_yaml,omitempty"` // or the text of a profile
	Rack        string `json:"rack,omitempty"`         // name of an embedded rack
	RackYAML    string `json:"rack_yaml,omitempty"`    // or the text of a rack
	Metal       string `json:"metal,omitempty"`        // if not the profile's
	Bath        string `json:"bath,omitempty"`         // if not the profile's
	Calibration string `json:"calibration,omitempty"`  // if not the metal's book one
	Stage       int    `json:"stage,omitempty"`        // of a profile with stages: which run of the job; without it the first
	From        string `json:"from,omitempty"`         // a recorded run to repeat, in place of all these
	NewParts    bool   `json:"new_parts,omitempty"`    // with from: other parts hang, so one that was cut off is repeated from its start

	BathCelsius float64 `json:"bath_celsius,omitempty"` // the bath as it was read today: the film is reckoned for it where the calibration says its own
}

// PlanAnswer is a plan with the name under which it can be started.
type PlanAnswer struct {
	plan.Plan
	ID      string  `json:"plan_id"`       // of this offer: it covers the plan's own
	Content string  `json:"content_id"`    // of what is planned: the same for the same plan
	Valid   float64 `json:"valid_seconds"` // then it must be made again
}

// plans are the offers that can still be started, and those that were.
type plans struct {
	now  func() time.Time
	mu   sync.Mutex
	list map[string]*offer
}

type offer struct {
	request controller.Request
	until   time.Time
	used    *started // nil while it is not
}

func newPlans(now func() time.Time) *plans {
	return &plans{now: now, list: map[string]*offer{}}
}

// add keeps a plan under a name that nobody can guess.
func (p *plans) add(request controller.Request) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sweep()
	id := request.Plan.ID + "-" + rand.Text()
	p.list[id] = &offer{request: request, until: p.now().Add(planHolds)}
	return id
}

// sweep drops what has run out and, where there are too many, what runs out next.
func (p *plans) sweep() {
	now, next := p.now(), ""
	for id, one := range p.list {
		if !now.Before(one.until) {
			delete(p.list, id)
		} else if next == "" || one.until.Before(p.list[next].until) {
			next = id
		}
	}
	if len(p.list) >= mostPlans {
		delete(p.list, next)
	}
}

// find gives a plan that can still be started.
func (p *plans) find(id string) (*offer, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	one, known := p.list[id]
	return one, known && p.now().Before(one.until)
}

func (s *Server) postPlan(w http.ResponseWriter, r *http.Request) {
	wanted, ok := request[PlanRequest](w, r)
	if !ok {
		return
	}
	ready, err := inTime(s.planning, planWait, func() (controller.Request, error) { return s.Plan(wanted) })
	switch {
	case errors.Is(err, errNotInTime):
		fail(w, http.StatusServiceUnavailable, Problem{Error: err.Error()})
	case errors.Is(err, plan.ErrNotReachable):
		fail(w, http.StatusUnprocessableEntity, Problem{Error: err.Error()})
	case err != nil:
		fail(w, http.StatusBadRequest, Problem{Error: err.Error()})
	default:
		reply(w, http.StatusOK, PlanAnswer{Plan: ready.Plan, ID: s.plans.add(ready), Content: ready.Plan.ID, Valid: planHolds.Seconds()})
	}
}
