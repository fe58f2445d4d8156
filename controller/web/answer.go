package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"time"

	"anodized/controller/record"
)

// The bounds of a request.
const (
	mostBody = 64 << 10
	bodyWait = 10 * time.Second
	sendWait = 30 * time.Second // for a client to take an answer
)

// Problem is why something was not done, for people and programs.
type Problem struct {
	Error string     `json:"error"`
	Who   string     `json:"who,omitempty"`  // of the load that is in the way
	When  *time.Time `json:"when,omitempty"` // it was started
}

// fail answers with a problem.
func fail(w http.ResponseWriter, status int, p Problem) { reply(w, status, p) }

// reply answers with one JSON object.
func reply(w http.ResponseWriter, status int, value any) {
	var body bytes.Buffer
	encoder := json.NewEncoder(&body)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		http.Error(w, `{"error":"the answer cannot be written as JSON"}`, http.StatusInternalServerError)
		return
	}
	send(w, status, "application/json; charset=utf-8", body.Bytes())
}

func send(w http.ResponseWriter, status int, kind string, body []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Length", fmt.Sprint(len(body)))
	w.WriteHeader(status)
	_, _ = w.Write(body) // a client that has gone needs no answer
}

// deadline bounds a client. A connection without deadlines, as in a test without a
// socket, has none to set.
func deadline(set func(time.Time) error, wait time.Duration) { _ = set(time.Now().Add(wait)) }

// request reads the JSON body of a POST. Where it cannot, it has answered.
func request[T any](w http.ResponseWriter, r *http.Request) (body T, ok bool) {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		fail(w, http.StatusUnsupportedMediaType, Problem{Error: "send JSON: Content-Type: application/json"})
		return body, false
	}
	deadline(http.NewResponseController(w).SetReadDeadline, bodyWait)
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
	if err != nil {
		status, why := unread(err)
		fail(w, status, Problem{Error: why})
		return body, false
	}
	deadline(http.NewResponseController(w).SetReadDeadline, idleWait)
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&body); err != nil {
		fail(w, http.StatusBadRequest, Problem{Error: "the body is not what is expected here: " + err.Error()})
		return body, false
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		fail(w, http.StatusBadRequest, Problem{Error: "the body goes on after its JSON object"})
		return body, false
	}
	return body, true
}

// plainWords tells whether words of a person are ones that every printer may show. Where
// they are not, it has answered.
func plainWords(w http.ResponseWriter, name, words string) bool {
	return taken(w, name, record.Plain(words))
}

// personName tells the same of the name of a person.
func personName(w http.ResponseWriter, name, words string) bool {
	return taken(w, name, record.Name(words))
}

func taken(w http.ResponseWriter, name string, err error) bool {
	if err != nil {
		fail(w, http.StatusBadRequest, Problem{Error: name + ": " + err.Error()})
	}
	return err == nil
}

// unread is the status of a body that did not come whole.
func unread(err error) (int, string) {
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, fmt.Sprintf("the body is larger than %d bytes", mostBody)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return http.StatusRequestTimeout, fmt.Sprintf("the body took longer than %v", bodyWait)
	}
	return http.StatusBadRequest, "the body did not come whole"
}
