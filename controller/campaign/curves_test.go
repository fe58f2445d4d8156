package campaign

import (
	"context"
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

var (
	curveRuns = flag.Int("curve-runs", 1, "loads for each point of the operating curves, with the fault and without")
	curveFile = flag.String("curve-file", "", "write the operating curves into this file")
)

// operating is a threshold that was moved, and where it was looked at. The default and the
// value before it are among them.
type operating struct {
	key    string
	row    string // of the acceptance
	values []float64
	before float64
}

var operatings = []operating{
	{"onset", "oxide-already-present", []float64{5, 7, 9}, 5},
	{"floor", "leak", []float64{0.05, 0.08, 0.09, 0.12}, 0.08},
	{"least area", "area-overstated", []float64{0.75, 0.80, 0.85}, 0.85},
	{"most area", "area-understated", []float64{1.15, 1.18, 1.25}, 1.15},
	{"most series", "bath-resistance-high", []float64{1.5, 1.7, 2.0}, 2.0},
	{"least series", "bath-resistance-low", []float64{0.45, 0.60, 0.67}, 0.45},
	{"join share", "mixed-rack", []float64{0.04, 0.08}, 0.08},
	{"lost share", "contact-lost-ramp", []float64{0.03, 0.04, 0.06}, 0.04},
}

// TestOperatingCurves prints what each moved threshold finds and what it finds falsely.
// The table in testdata is made by
//
//	go test ./controller/campaign -run OperatingCurves -curve-runs 25 -curve-file testdata/curves.txt -timeout 60m
func TestOperatingCurves(t *testing.T) {
	var text strings.Builder
	fmt.Fprintf(&text, "SIMULATED. Operating curves, %d loads a point from seed 40001 with the fault and from 50001 without.\n", *curveRuns)
	fmt.Fprintf(&text, "Default: what the watch takes; before: what it took once.\n\n%-14s %-8s %-10s %-24s %10s %10s\n", "threshold", "value", "", "fault", "found", "false")
	for _, o := range operatings {
		threshold, a := thresholdOf(t, o.key), rowOf(t, o.row)
		for _, value := range o.values {
			inside, found, falses := o.point(t, a, threshold, value)
			mark := map[bool]string{true: "before"}[value == o.before]
			if value == threshold.Default {
				mark = "default"
			}
			fmt.Fprintf(&text, "%-14s %-8g %-10s %-24s %4d/%-5d %6d/%d\n", o.key, value, mark, o.row, found, inside, falses, *curveRuns)
		}
	}
	t.Log("\n" + text.String())
	if *curveFile != "" {
		require.NoError(t, os.WriteFile(*curveFile, []byte(strings.ReplaceAll(text.String(), " \n", "\n")), 0o644))
	}
}

// point is one threshold at one value.
func (o operating) point(t *testing.T, a acceptance, threshold profiles.Threshold, value float64) (inside, found, falses int) {
	t.Helper()
	for _, r := range curveLoads(t, threshold, value, func(n int) Case { return OneFault(uint64(40001+n), a.Injection, lawOfTests()) }) {
		if v := r.Verdict(); v.Found != NotInjected && v.Inside {
			inside++
			if v.Found == AsItself {
				found++
			}
		}
	}
	for _, r := range curveLoads(t, threshold, value, func(n int) Case {
		return Healthy(uint64(50001+n), lawOfTests(), Spread{OwnCalibration: n%2 == 0})
	}) {
		if slices.Contains(r.FalseFindings(), a.Code) {
			falses++
		}
	}
	return inside, found, falses
}

// curveLoads runs loads with one threshold moved.
func curveLoads(t *testing.T, threshold profiles.Threshold, value float64, draw func(n int) Case) []Report {
	t.Helper()
	reports := make([]Report, *curveRuns)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.NumCPU() {
		wait.Go(func() {
			for n := range next {
				c := draw(n)
				*threshold.Of(&c.Request.Profile.Watch) = value
				r, err := Run(context.Background(), c)
				assert.NoError(t, err)
				reports[n] = r
			}
		})
	}
	for n := range reports {
		next <- n
	}
	close(next)
	wait.Wait()
	return reports
}

func thresholdOf(t *testing.T, key string) profiles.Threshold {
	t.Helper()
	all := profiles.Thresholds()
	k := slices.IndexFunc(all, func(x profiles.Threshold) bool { return x.Key == key })
	require.GreaterOrEqual(t, k, 0, key)
	return all[k]
}

func rowOf(t *testing.T, id string) acceptance {
	t.Helper()
	k := slices.IndexFunc(acceptances, func(a acceptance) bool { return a.ID == id })
	require.GreaterOrEqual(t, k, 0, id)
	return acceptances[k]
}
