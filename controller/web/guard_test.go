package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOnlyThisMachineIsListenedTo(t *testing.T) {
	for _, good := range []string{"127.0.0.1:7070", "127.9.9.9:1", "localhost:0", "[::1]:7070", "[::ffff:127.0.0.1]:7070"} {
		assert.NoError(t, CheckListen(good, false), good)
	}
	for _, bad := range []string{"0.0.0.0:7070", ":7070", "[::]:7070", "192.0.2.5:7070", "bench.example:7070", "localhost.example:7070", "::1", "127.0.0.1:99999", "127.0.0.1:", "127.0.0.1:-1", "127.0.0.1:x"} {
		assert.Error(t, CheckListen(bad, false), bad)
	}
	assert.ErrorIs(t, CheckListen("0.0.0.0:7070", false), ErrCredentials)
	assert.NoError(t, CheckListen("0.0.0.0:7070", true))
	assert.Error(t, CheckListen("7070", true))
}

func TestForeignHostsAreMisdirected(t *testing.T) {
	s := newStand(t, func(o *Options) { o.Hosts = []string{"Bench.Shop"} })
	for _, own := range []string{"localhost", "localhost:7070", "LOCALHOST:7070", "127.0.0.1", "127.0.0.1:8080", "[::1]:7070", "[::1]", "bench.shop:7070"} {
		status, _ := s.ask(t, http.MethodGet, "/api/status", "", "Host", own)
		assert.Equal(t, http.StatusOK, status, own)
	}
	for _, foreign := range []string{
		"evil.example", "evil.example:7070", "localhost.evil.example", "localhost.evil.example:7070", "127.0.0.1.evil.example",
		"evil.example:localhost", "localhost@evil.example", "evil.example#localhost", "evil.example/localhost", "localhost.", "localhost.:7070",
		"127.0.0.1.", "127.1", "0.0.0.0", "0.0.0.0:7070", "0", "2130706433", "0x7f000001", "0177.0.0.1", "127.0.0.2", "[::]", "[::]:7070",
		"[::ffff:127.0.0.1]", "[0:0:0:0:0:0:0:1]", "192.0.2.5:7070", "bench.shop.evil.example", "xn--lcalhost-54a", "localhost:7070:80",
		"[localhost", "]::1[", "rebind.example:7070", " ",
	} {
		for _, path := range []string{"/api/status", "/", "/metrics"} {
			status, _ := s.ask(t, http.MethodGet, path, "", "Host", foreign)
			assert.Equal(t, http.StatusMisdirectedRequest, status, "%s of %q", path, foreign)
		}
		status, _ := s.ask(t, http.MethodPost, "/api/stop", `{}`, "Host", foreign)
		assert.Equal(t, http.StatusMisdirectedRequest, status, "a stop of %q", foreign)
	}
	assert.Empty(t, s.bench.heard())
}

// crossSite are requests as a page of another site can send them.
var crossSite = map[string][]string{
	"a form":                         {"Content-Type", "application/x-www-form-urlencoded", "Origin", "http://evil.example", "Sec-Fetch-Site", "cross-site"},
	"a text form":                    {"Content-Type", "text/plain", "Origin", "http://evil.example", "Sec-Fetch-Site", "cross-site"},
	"fetch without cors":             {"Content-Type", "text/plain", "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors"},
	"a same-site neighbour":          {"Sec-Fetch-Site", "same-site", "Origin", "http://other.localhost:7070"},
	"another port of this machine":   {"Origin", "http://127.0.0.1:9999", "Sec-Fetch-Site", "same-site"},
	"an old browser, with an origin": {"Origin", "http://evil.example"},
	"an origin of null":              {"Origin", "null"},
	"an old browser, another port":   {"Origin", "http://127.0.0.1:9999"},
}

func TestNothingIsDoneForAnotherSite(t *testing.T) {
	s := newStand(t)
	id := s.plan(t)
	s.bench.show(asking())
	for name, headers := range crossSite {
		for path, body := range map[string]string{"/api/runs": `{"plan_id":"` + id + `"}`, "/api/acknowledge": `{"who":"x"}`,
			"/api/answer": `{"go_on":true}`, "/api/plan": `{}`, "/api/stop": `{}`} {
			status, _ := s.ask(t, http.MethodPost, path, body, headers...)
			assert.Equal(t, http.StatusForbidden, status, "%s by %s", path, name)
		}
	}
	assert.Empty(t, s.bench.heard())
	status, _ := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+id+`"}`, "Origin", "http://127.0.0.1:7070", "Sec-Fetch-Site", "same-origin")
	assert.Equal(t, http.StatusAccepted, status, "the page's own start is none of these")
}

// A request that has neither header passes the cross-origin check. What a blind
// attacker can send then still starts nothing, because it cannot know the name of a plan.
func TestBlindRequestsStartNothing(t *testing.T) {
	s := newStand(t)
	id := s.plan(t)
	for name, c := range map[string]struct {
		body, kind string
		status     int
	}{
		"a form":                 {"plan_id=" + id, "application/x-www-form-urlencoded", http.StatusUnsupportedMediaType},
		"text that is JSON":      {`{"plan_id":"` + id + `"}`, "text/plain", http.StatusUnsupportedMediaType},
		"no type":                {`{"plan_id":"` + id + `"}`, "", http.StatusUnsupportedMediaType},
		"the plan's own id":      {`{"plan_id":"` + strings.Split(id, "-")[0] + `"}`, "application/json", http.StatusGone},
		"a guess":                {`{"plan_id":"` + strings.Split(id, "-")[0] + `-AAAAAAAAAAAAAAAAAAAAAAAAAA"}`, "application/json", http.StatusGone},
		"no plan":                {`{}`, "application/json", http.StatusGone},
		"an acknowledgement too": {`{"who":"x","more":1}`, "application/json", http.StatusBadRequest},
	} {
		status, _ := s.ask(t, http.MethodPost, "/api/runs", c.body, "Content-Type", c.kind)
		assert.Equal(t, c.status, status, name)
	}
	assert.Empty(t, s.bench.heard())
}

func TestReadingChangesNothing(t *testing.T) {
	s := newStand(t)
	for _, path := range []string{"/api/stop", "/api/plan", "/api/answer", "/api/acknowledge"} {
		for _, method := range []string{http.MethodGet, http.MethodHead, http.MethodPut, http.MethodDelete, http.MethodOptions} {
			answer := s.raw(method, path, "")
			assert.GreaterOrEqual(t, answer.Code, 400, "%s %s", method, path)
		}
	}
	assert.Empty(t, s.bench.heard())
}

func TestBodiesAreBounded(t *testing.T) {
	s := newStand(t)
	for name, c := range map[string]struct {
		body   string
		status int
	}{
		"too large":        {`{"profile":"` + strings.Repeat("x", 65<<10) + `"}`, http.StatusRequestEntityTooLarge},
		"no JSON":          {`profile`, http.StatusBadRequest},
		"an unknown field": {`{"profil":"x"}`, http.StatusBadRequest},
		"two objects":      {`{} {}`, http.StatusBadRequest},
		"another type":     {`{"profile":7}`, http.StatusBadRequest},
		"not reachable":    {`{"profile":"red"}`, http.StatusUnprocessableEntity},
		"no such profile":  {`{"profile":"nonsense"}`, http.StatusBadRequest},
	} {
		status, answer := s.ask(t, http.MethodPost, "/api/plan", c.body)
		assert.Equal(t, c.status, status, name)
		assert.NotEmpty(t, answer["error"], name)
	}
}

func TestOddNamesReachNothing(t *testing.T) {
	s := newStand(t)
	for _, path := range []string{
		"/api/runs/0", "/api/runs/-1", "/api/runs/01", "/api/runs/1e3", "/api/runs/%00", "/api/runs/..%2f..%2fetc%2fpasswd", "/api/runs/1%5c..",
		"/api/runs/" + strings.Repeat("9", 400), "/api/runs/last%20", "/api/runs/1/", "/api/runs/2", "/api/runs/1/curve.exe",
		"/page/../server.go", "/page/%2e%2e/server.go", "/page/index.html", "/page/", "/page/now.css%00", "/page/..%5cserver.go",
		"/.git/config", "/api", "/api/", "/debug/pprof/", "/page/now.js/",
	} {
		answer := s.raw(http.MethodGet, path, "")
		assert.Contains(t, []int{http.StatusNotFound, http.StatusMovedPermanently, http.StatusTemporaryRedirect}, answer.Code, path)
		assert.NotContains(t, answer.Body.String(), "package web", path)
	}
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	s := newStand(t)
	for _, path := range []string{"/", "/api/status", "/page/now.js", "/nothing", "/metrics"} {
		head := s.raw(http.MethodGet, path, "").Header()
		policy := head.Get("Content-Security-Policy")
		assert.Contains(t, policy, "default-src 'none'", path)
		assert.NotContains(t, policy, "unsafe", path)
		assert.Contains(t, policy, "script-src 'self';", path)
		assert.Equal(t, "nosniff", head.Get("X-Content-Type-Options"), path)
		assert.Empty(t, head.Get("Access-Control-Allow-Origin"), path)
	}
	require.Zero(t, s.refused.Load())
}
