package web

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"

	"anodized/controller/record"
)

// StopRequest is all that a stop may say. It may also say nothing.
type StopRequest struct {
	ByEye bool   `json:"by_eye,omitempty"` // the colour that was wanted is there: a good end
	Why   string `json:"why,omitempty"`
	Ask   bool   `json:"ask_by_eye,omitempty"` // asks afterwards whether the end is good by eye
}

// StopAnswer says that the stop is with the Station, and what was known of the
// output at that moment.
type StopAnswer struct {
	Stopping bool   `json:"stopping"`
	Output   string `json:"output"`
}

// postStop stops, whatever the body says, or does not say. What cannot be read only
// loses its words.
func (s *Server) postStop(w http.ResponseWriter, r *http.Request) {
	if r.ContentLength == 0 || r.Header.Get("Content-Type") == "" {
		s.stop(StopRequest{}, r)
	} else {
		s.stopWithWords(w, r)
	}
	if strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") {
		http.Redirect(w, r, "/", http.StatusSeeOther) // the page's own key, where its script does not run
		return
	}
	reply(w, http.StatusOK, StopAnswer{Stopping: true, Output: s.Station.Snapshot().Supply.Output})
}

// stopWithWords gives the words of a stop the time in which a person would not notice.
func (s *Server) stopWithWords(w http.ResponseWriter, r *http.Request) {
	deadline(http.NewResponseController(w).SetReadDeadline, stopWordsWait)
	var wanted StopRequest
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
	if err == nil {
		err = json.Unmarshal(text, &wanted)
	}
	if err != nil {
		s.Log.Debug("the words of a stop were not understood", "from", r.RemoteAddr, "error", err)
		wanted = StopRequest{}
	}
	s.stop(wanted, r)
}

func (s *Server) stop(wanted StopRequest, r *http.Request) {
	s.starts.stops.Add(1)
	why := "the API"
	if wanted.Why != "" && record.Plain(wanted.Why) == nil { // a stop is not refused for its words
		why = brief(wanted.Why)
	}
	if one := asker(r); one != nil {
		why = one.Name + ", " + why
	}
	why += ", from " + r.RemoteAddr
	if wanted.Ask && !wanted.ByEye {
		s.Station.StopAndAsk(why)
		return
	}
	s.Station.Stop(wanted.ByEye, why)
}
