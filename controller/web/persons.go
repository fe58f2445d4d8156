package web

import (
	"net/http"
	"strings"
	"time"

	"anodized/controller"
)

// stopWordsWait is how long a stop waits for what it has to say.
const stopWordsWait = 50 * time.Millisecond

// AnswerRequest answers the open question.
type AnswerRequest struct {
	GoOn  *bool `json:"go_on,omitempty"`  // of the contact check; false gives up: the run is stopped
	ByEye *bool `json:"by_eye,omitempty"` // after a stop: whether the end is good by eye
}

// AcknowledgeRequest acknowledges a trip in somebody's name.
type AcknowledgeRequest struct {
	Who string `json:"who"`
}

// Taken says that something was passed on.
type Taken struct {
	Taken bool   `json:"taken"`
	State string `json:"state"`
}

func (s *Server) postAnswer(w http.ResponseWriter, r *http.Request) {
	wanted, ok := request[AnswerRequest](w, r)
	if !ok {
		return
	}
	answer, word := wanted.GoOn, "go_on"
	if asked := s.Station.Snapshot().Question; asked != nil && asked.Code == controller.GoodByEye {
		answer, word = wanted.ByEye, "by_eye"
	}
	switch {
	case (wanted.GoOn == nil) == (wanted.ByEye == nil):
		fail(w, http.StatusBadRequest, Problem{Error: `say one of: {"go_on": true}, {"go_on": false}, {"by_eye": true}, {"by_eye": false}`})
	case s.Station.Snapshot().Question == nil:
		s.taken(w, controller.ErrNoQuestion)
	case answer == nil:
		fail(w, http.StatusConflict, Problem{Error: "another question is open, which " + word + " answers"})
	default:
		s.taken(w, s.Station.Answer(*answer))
	}
}

func (s *Server) postAcknowledge(w http.ResponseWriter, r *http.Request) {
	wanted, ok := request[AcknowledgeRequest](w, r)
	switch {
	case !ok:
	case strings.TrimSpace(wanted.Who) == "":
		fail(w, http.StatusBadRequest, Problem{Error: `say who acknowledges: {"who": "Ida"}`})
	case !personName(w, "who", wanted.Who):
	default:
		s.taken(w, s.Station.Acknowledge(named(r, wanted.Who)))
	}
}

func (s *Server) taken(w http.ResponseWriter, err error) {
	if err != nil {
		fail(w, http.StatusConflict, Problem{Error: err.Error()})
		return
	}
	reply(w, http.StatusAccepted, Taken{Taken: true, State: s.Station.Snapshot().State})
}

// getStatus is the snapshot.
func (s *Server) getStatus(w http.ResponseWriter, _ *http.Request) {
	reply(w, http.StatusOK, s.Station.Snapshot())
}

// Health says whether something is as it should be, and if not, why.
type Health struct {
	OK  bool   `json:"ok"`
	Why string `json:"why"`
}

func healthy(w http.ResponseWriter, why string) {
	status := http.StatusOK
	if why != "" {
		status = http.StatusServiceUnavailable
	}
	reply(w, status, Health{OK: why == "", Why: why})
}

// getHealth tells whether the loop that owns the bench is alive.
func (s *Server) getHealth(w http.ResponseWriter, _ *http.Request) { healthy(w, s.pump.stalled()) }

// getReady tells whether the bench answers.
func (s *Server) getReady(w http.ResponseWriter, _ *http.Request) {
	why := s.pump.stalled()
	if why == "" {
		why = silent(s.Station.Snapshot())
	}
	healthy(w, why)
}

// mostSilence is how old a reading may be of a bench that answers, in milliseconds.
const mostSilence = 2000

func silent(now *controller.Snapshot) string {
	switch {
	case !(now.Interlock.AgeMS <= mostSilence):
		return "the interlock does not answer"
	case !(now.Supply.AgeMS <= mostSilence):
		return "the supply does not answer"
	}
	return ""
}
