package web

import (
	"fmt"
	"io"
	"net/http"
	"time"
)

// reconnect is how long a browser waits before it tries again.
const reconnect = time.Second

// getEvents streams what happens until the client leaves, or takes longer than it may
// to read. With ?page it is what the page shows.
func (s *Server) getEvents(w http.ResponseWriter, r *http.Request) {
	kinds := []string{kindSnapshot, kindEvent, kindResult}
	if r.URL.Query().Has("page") {
		kinds = []string{kindNow, kindEvent, kindResult}
	}
	q := newQueue(kinds...)
	if !s.pump.join(q) {
		fail(w, http.StatusServiceUnavailable, Problem{Error: fmt.Sprintf("%d streams are open already", mostStreams)})
		return
	}
	defer s.pump.leave(q)
	w.Header().Set("Content-Type", "text/event-stream")
	out := stream{w, http.NewResponseController(w)}
	if out.send(fmt.Appendf(nil, "retry: %d\n\n", reconnect.Milliseconds())) != nil {
		return
	}
	for {
		select {
		case <-r.Context().Done():
			return
		case <-q.more:
		}
		for _, m := range q.take() {
			if out.send(m.text()) != nil {
				return // gone, or too slow: it comes again if it wants to
			}
		}
	}
}

// text is a message as server-sent events are written.
func (m message) text() []byte {
	text := fmt.Appendf(nil, "event: %s\n", m.kind)
	if m.passing() {
		text = fmt.Appendf(text, "id: %d\n", m.id)
	}
	return fmt.Appendf(text, "data: %s\n\n", m.data)
}

// stream is one client's end.
type stream struct {
	out io.Writer
	rc  *http.ResponseController
}

func (s stream) send(text []byte) error {
	deadline(s.rc.SetWriteDeadline, sendWait)
	if _, err := s.out.Write(text); err != nil {
		return err
	}
	return s.rc.Flush()
}
