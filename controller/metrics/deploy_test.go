package metrics_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/metrics"
)

// TestDashboardAndAlertsAskForWhatThereIs: a panel over a name that is misspelt shows
// nothing, and an alert over it never calls.
func TestDashboardAndAlertsAskForWhatThereIs(t *testing.T) {
	names := map[string]bool{}
	found := make(chan *prometheus.Desc, 100)
	metrics.New(nil, metrics.Options{}).Describe(found)
	close(found)
	for one := range found {
		_, rest, _ := strings.Cut(one.String(), `fqName: "`)
		name, _, _ := strings.Cut(rest, `"`)
		names[name] = true
	}
	require.NotEmpty(t, names)
	sampled := sampledNames(t)
	for _, file := range []string{"grafana/anodized.json", "prometheus/anodized.rules.yml", "prometheus/anodized.rules.test.yml"} {
		text, err := os.ReadFile(filepath.Join("../../deploy", file))
		require.NoError(t, err)
		asked := regexp.MustCompile(`anodized_[a-z_]+`).FindAllString(string(text), -1)
		assert.NotEmpty(t, asked, file)
		for _, name := range asked {
			assert.True(t, names[histogram.ReplaceAllString(name, "$1")], "%s asks for %s, which there is not", file, name)
			assert.True(t, sampled[name], "%s asks for %s, which no page of testdata shows", file, name)
		}
	}
}

// histogram is a name of the series of a histogram; the only ones here are times.
var histogram = regexp.MustCompile(`^(anodized_tick_.*_seconds)_(bucket|sum|count)$`)

// sampledNames are the metrics that the pages of testdata have samples of.
func sampledNames(t *testing.T) map[string]bool {
	t.Helper()
	pages, err := filepath.Glob("testdata/*.prom")
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	names := map[string]bool{}
	for _, page := range pages {
		text, err := os.ReadFile(page)
		require.NoError(t, err)
		for _, line := range regexp.MustCompile(`(?m)^anodized_[a-z_]+`).FindAllString(string(text), -1) {
			names[line] = true
		}
	}
	return names
}
