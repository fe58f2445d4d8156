package match_test

import (
	"testing"

	"anodized/controller/match"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
)

func TestTheWorstVerdictIsHeardFirst(t *testing.T) {
	order := []match.Verdict{"", match.Accept, match.StepUp, match.Nearest, match.Doubtful, match.Overshot}
	for i, worse := range order {
		for k, than := range order {
			assert.Equal(t, i > k, worse.Worse(than), "%q before %q", worse, than)
		}
	}
}

// Half of the vectors of three axes of deviation 0.5 are shorter than 0.5 times the root of
// 2.366, the median of chi-squared with three degrees (handbook tables).
func TestStatedErrorIsThatOfAnAxis(t *testing.T) {
	assert.InDelta(t, 0.5, match.StatedSD(profiles.StatedError{Median: 0.5 * 1.53817}), 1e-4)
}
