package web

import (
	"encoding/base64"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/bcrypt"
)

// shop has somebody who operates, somebody who watches, and a program that scrapes.
func shop(t testing.TB) func(*Options) {
	t.Helper()
	hash := func(password string) string {
		sum, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.MinCost)
		require.NoError(t, err)
		return string(sum)
	}
	persons := []Person{{Name: "Ida", Operates: true, Password: hash("straw")}, {Name: "Jo", Password: hash("teal")}, {Name: "scraper", Token: "long-and-random"}}
	return func(o *Options) { o.Persons = persons }
}

func basic(name, password string) string {
	return "Basic " + base64.StdEncoding.EncodeToString([]byte(name+":"+password))
}

func TestOnlyPersonsAreLetIn(t *testing.T) {
	s := newStand(t, shop(t))
	for name, c := range map[string]struct {
		authorization string
		want          int
	}{
		"nobody":             {"", 401},
		"Ida":                {basic("Ida", "straw"), 200},
		"Jo":                 {basic("Jo", "teal"), 200},
		"the scraper":        {"Bearer long-and-random", 200},
		"a wrong password":   {basic("Ida", "teal"), 401},
		"another's name":     {basic("Jo", "straw"), 401},
		"no such name":       {basic("Max", "straw"), 401},
		"no password":        {basic("scraper", ""), 401},
		"the hash itself":    {basic("Ida", s.Persons[0].Password), 401},
		"far too long":       {basic("Ida", strings.Repeat("straw", 100)), 401},
		"a wrong token":      {"Bearer long-and-randon", 401},
		"an empty token":     {"Bearer ", 401},
		"a token as basic":   {basic("scraper", "long-and-random"), 401},
		"something else":     {"Digest x", 401},
		"nonsense as basic":  {"Basic ===", 401},
		"a colon in between": {basic("Ida:", "straw"), 401},
	} {
		for range 2 { // the second time from memory
			for _, path := range []string{"/", "/api/status", "/metrics", "/healthz", "/page/now.js", "/api/runs/1"} {
				answer := s.raw(http.MethodGet, path, "", "Authorization", c.authorization)
				if path == "/healthz" && c.want == 200 {
					assert.NotEqual(t, 401, answer.Code, name)
					continue
				}
				assert.Equal(t, c.want, answer.Code, "%s at %s", name, path)
				assert.Equal(t, c.want == 401, answer.Header().Get("WWW-Authenticate") != "", name)
			}
		}
	}
	assert.Len(t, s.gate.proven, 2, "what was wrong is not kept")
}

func TestWhoWatchesCanOnlyStop(t *testing.T) {
	s := newStand(t, shop(t))
	s.bench.show(asking())
	for path, body := range map[string]string{"/api/plan": `{}`, "/api/runs": `{"plan_id":"x"}`, "/api/answer": `{"go_on":true}`, "/api/acknowledge": `{"who":"Jo"}`} {
		status, answer := s.ask(t, http.MethodPost, path, body, "Authorization", basic("Jo", "teal"))
		assert.Equal(t, http.StatusForbidden, status, path)
		assert.Contains(t, answer["error"], "Ida", "who may")
	}
	assert.Empty(t, s.bench.heard())
	page := s.raw(http.MethodGet, "/", "", "Authorization", basic("Jo", "teal")).Body.String()
	assert.Contains(t, page, "watching; to operate: Ida")
	assert.Contains(t, page, `<button id="goon" type="button" hidden>`)
	assert.Contains(t, page, `<form id="stop"`)
	page = s.raw(http.MethodGet, "/", "", "Authorization", basic("Ida", "straw")).Body.String()
	assert.NotContains(t, page, "watching")
}

func TestStopNeedsNoCredentials(t *testing.T) {
	s := newStand(t, shop(t))
	for _, authorization := range []string{"", basic("Jo", "teal"), basic("Ida", "wrong"), "Bearer long-and-random", "Bearer wrong"} {
		status, _ := s.ask(t, http.MethodPost, "/api/stop", `{}`, "Authorization", authorization)
		assert.Equal(t, http.StatusOK, status, authorization)
	}
	assert.Len(t, s.bench.heard(), 5)
	assert.Contains(t, s.bench.heard()[3], "scraper, the API")
	for name, headers := range crossSite {
		status, _ := s.ask(t, http.MethodPost, "/api/stop", `{}`, headers...)
		assert.Equal(t, http.StatusForbidden, status, name)
	}
	status, _ := s.ask(t, http.MethodGet, "/api/stop", "")
	assert.Equal(t, http.StatusUnauthorized, status, "only the act itself")
}

func TestTheProvenNameGoesIntoTheRecord(t *testing.T) {
	s := newStand(t, shop(t))
	ida := basic("Ida", "straw")
	status, offered := s.ask(t, http.MethodPost, "/api/plan", `{}`, "Authorization", ida)
	require.Equal(t, http.StatusOK, status)
	status, answer := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+offered["plan_id"].(string)+`","operator":"Max"}`, "Authorization", ida)
	require.Equal(t, http.StatusAccepted, status)
	assert.Equal(t, "Ida", answer["who"])
	s.bench.show(tripped())
	status, _ = s.ask(t, http.MethodPost, "/api/acknowledge", `{"who":"Max"}`, "Authorization", ida)
	require.Equal(t, http.StatusAccepted, status)
	assert.Equal(t, "acknowledge Ida", s.bench.heard()[1])
}
