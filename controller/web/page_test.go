package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFirstPaintNeedsNoScript(t *testing.T) {
	s := newStand(t)
	for state, want := range map[string][]string{
		"idle":     {"Idle", "Not proven", "No load yet"},
		"ramping":  {"Ramping", ">53.4<", ">0.683<", "sets the pace", `fill="#`, "92 of 145 nm", "SIMULATED Ramping 53.4 V"},
		"tripped":  {"Tripped", "Not proven"},
		"complete": {"Complete", "off, read back"},
	} {
		s.bench.show(snapshot(state))
		page := s.raw(http.MethodGet, "/", "").Body.String()
		for _, text := range append(want, `action="/api/stop" method="post"`, "0.0 s ago", "20.4 °C", `<em class="simulated">SIMULATED</em>`) {
			assert.Contains(t, page, text, state)
		}
		assert.NotContains(t, page, "NaN", state)
	}
}

func TestPageWithoutAnythingKnown(t *testing.T) {
	s := newStand(t)
	blank := snapshot("idle")
	blank.Simulated = false
	n := blank.Estimates.LiveArea
	blank.Supply.Volts, blank.Supply.Amperes, blank.Supply.AgeMS, blank.Interlock.AgeMS, blank.Bath.Celsius = n, n, n, n, n
	blank.Supply.Output = "unknown"
	s.bench.show(blank)
	page := s.raw(http.MethodGet, "/", "").Body.String()
	assert.Contains(t, page, `<body class="hatched"`)
	assert.Contains(t, page, "Do not open")
	assert.Contains(t, page, "not read")
	assert.NotContains(t, page, "SIMULATED")
	assert.NotContains(t, page, "NaN")
}

// texts are the files of the page by name.
func texts(t *testing.T) map[string]string {
	t.Helper()
	list := map[string]string{}
	entries, err := pageFS.ReadDir("page")
	require.NoError(t, err)
	for _, entry := range entries {
		text, err := pageFS.ReadFile("page/" + entry.Name())
		require.NoError(t, err)
		list[entry.Name()] = string(text)
	}
	return list
}

func TestPageHasNothingInlineAndNoOtherHost(t *testing.T) {
	list := texts(t)
	assert.NotRegexp(t, `<script[^>]*>[^<]`, list["index.html"])
	assert.NotRegexp(t, `(?i)<style|\sstyle=|\son[a-z]+=|javascript:`, list["index.html"])
	assert.NotRegexp(t, `setAttribute\("style"|eval\(|new Function|innerHTML|document\.write`, list["now.js"])
	for name, text := range list {
		for _, address := range regexp.MustCompile(`https?://[^"'\s)]+`).FindAllString(text, -1) {
			assert.Equal(t, "http://www.w3.org/2000/svg", address, name)
		}
		assert.NotRegexp(t, `@import|url\((?:['"]?)(?:https?:)?//`, text, name)
	}
}

func TestScriptFindsWhatItLooksFor(t *testing.T) {
	list := texts(t)
	for _, found := range regexp.MustCompile(`(?:\$|text|show|facts|list|figure)\("([a-z]+)"`).FindAllStringSubmatch(list["now.js"], -1) {
		assert.Contains(t, list["index.html"], `id="`+found[1]+`"`, found[1])
	}
	for _, id := range []string{"goon", "acknowledge", "good", "notgood", "eye"} {
		assert.Contains(t, list["index.html"], `id="`+id+`"`)
		assert.Contains(t, list["now.js"], `"`+id+`"`)
	}
	for _, light := range []string{"day", "dark", "sun"} {
		assert.Contains(t, list["now.css"], "data-light="+light)
		assert.Contains(t, list["now.js"], `"`+light+`"`)
	}
	for _, one := range words {
		assert.Contains(t, list["index.html"], `<symbol id="`+one.shape+`"`)
	}
	for _, shape := range []string{"lid-open", "lid-closed", "lid-unproven", "link"} {
		assert.Contains(t, list["index.html"], `<symbol id="`+shape+`"`)
	}
}

func TestPageKeepsItsBudget(t *testing.T) {
	var all bytes.Buffer
	packed := gzip.NewWriter(&all)
	for _, text := range texts(t) {
		_, err := packed.Write([]byte(text))
		require.NoError(t, err)
	}
	s := newStand(t)
	_, err := packed.Write(s.raw(http.MethodGet, "/api/colours", "").Body.Bytes())
	require.NoError(t, err)
	require.NoError(t, packed.Close())
	assert.Less(t, all.Len(), 70_000, "page, style, script and colours, compressed")
	t.Logf("%d bytes compressed", all.Len())
}

func TestFilesAreSentOnce(t *testing.T) {
	s := newStand(t)
	mark := s.raw(http.MethodGet, "/page/now.css", "").Header().Get("ETag")
	require.True(t, strings.HasPrefix(mark, `"`))
	assert.Equal(t, http.StatusNotModified, s.raw(http.MethodGet, "/page/now.css", "", "If-None-Match", mark).Code)
}
