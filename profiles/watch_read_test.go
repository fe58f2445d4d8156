package profiles

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestEachThresholdIsReadWithinItsBoundsOnly: at both ends it is taken, just beyond it is
// refused, and the place is told.
func TestEachThresholdIsReadWithinItsBoundsOnly(t *testing.T) {
	before := append(good(t, "profile.yaml"), "\nwatch:\n"...)
	line := strings.Count(string(before), "\n") + 1
	for _, threshold := range Thresholds() {
		read := func(value float64) (Profile, error) {
			return ReadProfile("p.yaml", fmt.Appendf(slices.Clip(before), "  %s: %s\n", threshold.Key, withUnit(value, threshold.Unit)))
		}
		beyond := (threshold.Most - threshold.Least) / 100
		for value, taken := range map[float64]bool{threshold.Least: true, threshold.Most: true, threshold.Least - beyond: false, threshold.Most + beyond: false} {
			p, err := read(value)
			if taken {
				require.NoError(t, err, threshold.Key)
				assert.Equal(t, value, *threshold.Of(&p.Watch), threshold.Key)
				require.NoError(t, p.Watch.Check())
				continue
			}
			place := fmt.Sprintf("p.yaml:%d:%d: %s: ", line, len("  : ")+len(threshold.Key)+1, threshold.Key)
			assert.ErrorContains(t, err, place)
			assert.ErrorContains(t, err, "allowed is "+withUnit(threshold.Least, threshold.Unit)+" to "+withUnit(threshold.Most, threshold.Unit))
			*threshold.Of(&p.Watch) = value
			assert.ErrorContains(t, p.Watch.Check(), threshold.Key+" is ")
		}
	}
}
