package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/metrics"
)

func TestWhatCanBeRead(t *testing.T) {
	s := newStand(t)
	s.bench.show(snapshot("ramping"))
	for path, want := range map[string]string{
		"/":                           "Ramping",
		"/api/status":                 `"state":"ramping"`,
		"/api/load":                   `"plan_id":"spacers"`,
		"/api/colours":                `"provenance"`,
		"/api/runs":                   `"outcome":"complete"`,
		"/api/runs?limit=5&before=9":  `"run":"1"`,
		"/api/runs/1":                 `"rows":300`,
		"/api/runs/last":              `"run":"1"`,
		"/api/runs/1/curve":           `"thickness_by_volts_nm":[`,
		"/api/runs/1/curve?points=10": `"t_s":[0,3,6,9,12,15,18,21,24,27]`,
		"/api/runs/1/curve.csv":       "t_s,volts,amperes",
		"/api/runs/1/curve.svg":       "<svg",
		"/api/runs/1/review":          `"verdict"`,
		"/api/openapi.json":           `"openapi":"3.1.0"`,
		"/metrics":                    "anodized_supply_volts 53.4",
		"/page/now.js":                "EventSource",
		"/page/now.css":               "--card: #9e9e9e",
	} {
		answer := s.raw(http.MethodGet, path, "")
		assert.Equal(t, http.StatusOK, answer.Code, path)
		assert.Contains(t, answer.Body.String(), want, path)
	}
	for path, want := range map[string]int{"/api/runs?limit=0": 400, "/api/runs?before=x": 400, "/api/runs/1/curve?points=1": 400, "/api/runs/7": 404} {
		assert.Equal(t, want, s.raw(http.MethodGet, path, "").Code, path)
	}
}

func TestNoLoadYet(t *testing.T) {
	s := newStand(t)
	status, _ := s.ask(t, http.MethodGet, "/api/load", "")
	assert.Equal(t, http.StatusNotFound, status)
	status, colours := s.ask(t, http.MethodGet, "/api/colours", "")
	assert.Equal(t, http.StatusOK, status)
	assert.Len(t, colours["hex"], 261)
	assert.Equal(t, usual(t).ID, colours["calibration"].(map[string]any)["id"])
}

func TestJournalThatCannotBeReadIsSaid(t *testing.T) {
	s := newStand(t, func(o *Options) { o.History = shelf{fail: errors.New("the disk is gone")} })
	for _, path := range []string{"/api/runs", "/api/runs/1", "/api/runs/1/review"} {
		status, answer := s.ask(t, http.MethodGet, path, "")
		assert.Equal(t, http.StatusInternalServerError, status)
		assert.Contains(t, answer["error"], "the disk is gone")
	}
}

func TestScrapesAtOnceAreBounded(t *testing.T) {
	hold, inside := make(chan struct{}), make(chan struct{})
	s := newStand(t, func(o *Options) {
		o.Journal = func() metrics.Journal { inside <- struct{}{}; <-hold; return metrics.Journal{} }
	})
	var wait sync.WaitGroup
	codes := make(chan int, mostScrapes)
	for range mostScrapes {
		wait.Go(func() { codes <- s.raw(http.MethodGet, "/metrics", "").Code })
	}
	for range mostScrapes {
		<-inside
	}
	assert.Equal(t, http.StatusServiceUnavailable, s.raw(http.MethodGet, "/metrics", "").Code)
	close(hold)
	wait.Wait()
	for range mostScrapes {
		assert.Equal(t, http.StatusOK, <-codes)
	}
}

func TestLimitedAnswersBusy(t *testing.T) {
	inside, hold := make(chan struct{}), make(chan struct{})
	s := newStand(t)
	one := limited(1, http.HandlerFunc(func(http.ResponseWriter, *http.Request) { inside <- struct{}{}; <-hold }))
	mux := http.NewServeMux()
	mux.Handle("GET /slow", one)
	s.handler = s.guard(mux)
	done := make(chan struct{})
	go func() { s.raw(http.MethodGet, "/slow", ""); close(done) }()
	<-inside
	answer := s.raw(http.MethodGet, "/slow", "")
	assert.Equal(t, http.StatusServiceUnavailable, answer.Code)
	assert.Equal(t, "1", answer.Header().Get("Retry-After"))
	close(hold)
	<-done
}

func TestHealth(t *testing.T) {
	s := newStand(t)
	status, answer := s.ask(t, http.MethodGet, "/healthz", "")
	assert.Equal(t, http.StatusServiceUnavailable, status, answer)
	s.pump.look()
	status, _ = s.ask(t, http.MethodGet, "/healthz", "")
	assert.Equal(t, http.StatusOK, status)
	status, _ = s.ask(t, http.MethodGet, "/readyz", "")
	assert.Equal(t, http.StatusOK, status)
	for _, dumb := range []func(*controller.Snapshot){
		func(n *controller.Snapshot) { n.Interlock.AgeMS = controller.Unknown() },
		func(n *controller.Snapshot) { n.Supply.AgeMS = 2500 },
	} {
		now := snapshot("idle")
		dumb(now)
		s.bench.show(now)
		status, answer = s.ask(t, http.MethodGet, "/readyz", "")
		assert.Equal(t, http.StatusServiceUnavailable, status, answer)
		status, _ = s.ask(t, http.MethodGet, "/healthz", "")
		assert.Equal(t, http.StatusOK, status, "the loop is alive")
	}
}

// TestDescriptionIsWhole: every route, every field of the snapshot, every reference.
func TestDescriptionIsWhole(t *testing.T) {
	s := newStand(t)
	_, document := s.ask(t, http.MethodGet, "/api/openapi.json", "")
	paths := document["paths"].(map[string]any)
	for _, r := range s.routes() {
		path, here := paths[strings.TrimSuffix(r.path, "{$}")].(map[string]any)
		require.True(t, here, r.path)
		assert.Contains(t, path, strings.ToLower(r.verb()), r.path)
	}
	for _, promised := range []string{"/", "/api/openapi.json", "/api/status", "/api/events", "/api/runs", "/api/runs/{id}", "/api/runs/{id}/curve",
		"/api/runs/{id}/curve.csv", "/api/runs/{id}/curve.svg", "/api/runs/{id}/review", "/api/plan", "/api/stop", "/api/answer", "/api/acknowledge", "/metrics", "/healthz", "/readyz"} {
		assert.Contains(t, paths, promised)
	}
	schemas := document["components"].(map[string]any)["schemas"].(map[string]any)
	described(t, schemas, "controller.Snapshot", snapshot("tripped"))
	text, err := json.Marshal(document)
	require.NoError(t, err)
	for _, reference := range strings.Split(string(text), `"$ref":"#/components/schemas/`)[1:] {
		name, _, _ := strings.Cut(reference, `"`)
		assert.Contains(t, schemas, name)
	}
}

// described compares the fields that a value has as JSON with those of its schema.
func described(t *testing.T, schemas map[string]any, name string, value any) {
	t.Helper()
	text, err := json.Marshal(value)
	require.NoError(t, err)
	var fields map[string]any
	require.NoError(t, json.Unmarshal(text, &fields))
	properties := schemas[name].(map[string]any)["properties"].(map[string]any)
	for field := range fields {
		assert.Contains(t, properties, field, "%s of %s", field, name)
	}
	structure := reflect.Indirect(reflect.ValueOf(value))
	for i := range structure.NumField() {
		part := reflect.Indirect(structure.Field(i))
		if structure.Type().Field(i).Tag.Get("json") != "-" && part.IsValid() && part.Kind() == reflect.Struct && structure.Type().Field(i).IsExported() && part.Type().PkgPath() == "anodized/controller" {
			described(t, schemas, fmt.Sprint("controller.", part.Type().Name()), part.Interface())
		}
	}
}

// What is there, and asked for in another way than it may be, is not missing (RFC 9110, 15.5.6).
func TestAnotherMethodIsToldWhichMayBe(t *testing.T) {
	s := newStand(t)
	for path, allow := range map[string]string{
		"/api/status": "GET, HEAD", "/api/runs": "GET, HEAD, POST", "/api/runs/1/curve.csv": "GET, HEAD", "/api/plan": "POST",
		"/api/stop": "POST", "/api/answer": "POST", "/": "GET, HEAD", "/metrics": "GET, HEAD", "/page/now.js": "GET, HEAD",
	} {
		for _, method := range []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodDelete, http.MethodPatch} {
			if strings.Contains(allow, method) {
				continue
			}
			answer := s.raw(method, path, "")
			assert.Equal(t, http.StatusMethodNotAllowed, answer.Code, "%s %s", method, path)
			assert.Equal(t, allow, answer.Header().Get("Allow"), "%s %s", method, path)
		}
	}
	assert.Empty(t, s.bench.heard())
	assert.Equal(t, http.StatusOK, s.raw(http.MethodHead, "/api/status", "").Code)
	assert.Equal(t, http.StatusNotFound, s.raw(http.MethodDelete, "/api/nothing", "").Code)
}
