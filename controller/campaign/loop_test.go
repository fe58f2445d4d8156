package campaign_test

import (
	"flag"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"anodized/controller/calibrate"
	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	loopPlants = flag.Int("loop-plants", 6, "plants of the closed loop")
	loopSeed   = flag.Uint64("loop-seed", 1, "seed of the first of them")
)

// TestClosedLoop goes from a ladder to a wanted colour on plants that the controller does
// not know.
func TestClosedLoop(t *testing.T) {
	all := make([]campaign.LoopResult, *loopPlants)
	next, folder := make(chan int), t.TempDir()
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for n := range next {
				var err error
				all[n], err = campaign.ClosedLoop(t.Context(), *loopSeed+uint64(n), filepath.Join(folder, fmt.Sprintf("%d.db", n)))
				assert.NoError(t, err)
			}
		})
	}
	for n := range all {
		next <- n
	}
	close(next)
	wait.Wait()
	require.False(t, t.Failed())
	t.Log("\n" + campaign.LoopTable(all))
	determined := 0
	for _, r := range all {
		assert.Empty(t, r.Violations, "seed %d", r.Seed)
		assert.NotContains(t, strings.Join(r.Incomplete, "; "), "tripped", "seed %d: nothing is wrong in these loads", r.Seed)
		if r.Verdict == calibrate.Good || r.Verdict == calibrate.Local {
			determined++
		}
		t.Logf("seed %d: %s on %s, chosen %s (%.2f, %s) or %s (%.2f, %s), %d coupons, off %.2f, steps %v, live %.3f, incomplete %q",
			r.Seed, r.Film, r.Metal, r.Chosen, r.RMS, r.Verdict, r.Foreign, r.ForeignRMS, r.ForeignVerdict, r.Coupons, r.Off, r.Steps, r.Live, r.Incomplete)
	}
	assert.GreaterOrEqual(t, determined, len(all)*95/100, "ladders that determine the calibration")
	for _, row := range []campaign.LoopRow{campaign.ByLadder, campaign.ByLadderStepped} {
		s := row.Sum(all)
		assert.LessOrEqual(t, s.Median, 1.0, campaign.LoopNames[row])
		assert.LessOrEqual(t, s.P95, 2.5, campaign.LoopNames[row])
	}
	for _, row := range []campaign.LoopRow{campaign.DaysStepped, campaign.DaysAdoptedStepped} {
		assert.LessOrEqual(t, row.Sum(all).P95, 1.5, campaign.LoopNames[row])
	}
	if fine := campaign.FineMeter(all); len(fine) > 0 { // with a coarse one an end is a step sooner or later, which only a step up mends
		assert.LessOrEqual(t, campaign.DaysAdopted.Sum(fine).P95, 1.5, campaign.LoopNames[campaign.DaysAdopted])
	}
	assert.Greater(t, campaign.ByBook.Sum(all).Median, 2.5, "the book would do: these worlds show nothing")
}
