package web

import (
	"net/http"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

// charted is the chart of a calibration, as the load on the bench has it.
func charted(t *testing.T, c profiles.Calibration, simulated bool) (int, string) {
	t.Helper()
	s := newStand(t)
	now := snapshot("ramping")
	now.Simulated = simulated
	now.Load.Request.Plan.Calibration = c
	s.bench.show(now)
	got := s.raw(http.MethodGet, "/chart", "")
	return got.Code, got.Body.String()
}

func book(t *testing.T, id string) profiles.Calibration {
	t.Helper()
	c, err := profiles.OpenCalibration(id, nil)
	require.NoError(t, err)
	return c
}

func TestChartOfTheBath(t *testing.T) {
	ladder := book(t, "titanium-grade-5-book")
	ladder.ID, ladder.Book, ladder.Date, ladder.Finish, ladder.Bath = "ladder-2025-03", false, "2025-03-04", "satin", "bicarbonate"
	ladder.FromVolts, ladder.ToVolts, ladder.Provenance = 10, 100, "ladder of eleven coupons"
	code, page := charted(t, ladder, false)
	require.Equal(t, http.StatusOK, code)
	// The colours of 50 and 85 V of this law (computed independently), the latter beyond the screen.
	for _, words := range []string{"ladder of eleven coupons", "2025-03-04", "satin", "bicarbonate", "10 V to 100 V", "0.5 mA/cm2",
		"#d1d29a", "pale yellow", "±0.47", "83, -9, 28", "#009fcd", `class="cut"`, "168.9", "shown", `viewBox="0 0 110 8"`, `<rect x="0.5" width="0.6"`, "<span>100 V</span>"} {
		assert.Contains(t, page, words)
	}
	for _, words := range []string{"SIMULATED", "INDICATIVE", "NOT MEASURED HERE", "NaN", "-0,"} {
		assert.NotContains(t, page, words)
	}
	assert.Len(t, regexp.MustCompile(`<tr><th>[0-9]`).FindAllString(page, -1), 23, "0 V to 110 V by 5 V")
}

func TestChartIsMarked(t *testing.T) {
	_, page := charted(t, book(t, "tantalum-book"), true)
	for _, words := range []string{"<title>SIMULATED Colours of tantalum", ">SIMULATED<", ">INDICATIVE<", ">NOT MEASURED HERE<"} {
		assert.Contains(t, page, words)
	}
	simulated := book(t, "niobium-book")
	simulated.Simulated = true
	_, page = charted(t, simulated, false)
	assert.Contains(t, page, ">SIMULATED<", "a simulated calibration on a real bench")
	assert.NotContains(t, page, "INDICATIVE")
}

func TestNoChartWithoutProvenance(t *testing.T) {
	nameless := book(t, "niobium-book")
	nameless.Provenance = " "
	code, body := charted(t, nameless, false)
	assert.Equal(t, http.StatusNotFound, code)
	assert.Contains(t, body, "does not say where it comes from")
}

// The chart has nothing inline, no script, and Stop.
func TestChartKeepsThePolicyOfThePage(t *testing.T) {
	text := texts(t)["chart.html"]
	assert.NotRegexp(t, `(?i)<script|<style|\sstyle=|\son[a-z]+=|javascript:`, text)
	assert.Contains(t, text, `action="/api/stop" method="post"`)
	for _, found := range regexp.MustCompile(`href="(/page/[a-z.]+)"`).FindAllStringSubmatch(text, -1) {
		assert.Equal(t, http.StatusOK, newStand(t).raw(http.MethodGet, found[1], "").Code, found[1])
	}
}
