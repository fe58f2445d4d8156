package fault

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestMeaningsAreThoseOfTrips: each stands in the list of a trip, and means codes that exist.
func TestMeaningsAreThoseOfTrips(t *testing.T) {
	printed := map[string]bool{}
	for _, trip := range trips {
		for _, words := range trip.Confused {
			printed[words] = true
		}
	}
	for words, m := range meanings {
		assert.True(t, printed[words], "no trip says %q", words)
		assert.NotEmpty(t, m.codes, words)
		for _, code := range m.codes {
			_, trips := TripByCode(code)
			_, finds := KindByCode(code)
			assert.True(t, trips || finds, "%q means %s, which nothing is", words, code)
		}
	}
}
