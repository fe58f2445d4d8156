package web

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
)

// listing is a schema that lists its words.
type listing struct {
	Enum  []fault.Code          `json:"enum"`
	Texts map[fault.Code]string `json:"x-enumDescriptions"`
}

// TestDescriptionListsEveryCode: the API names the codes that the table has, no other,
// each with its cause, what to do next and what it could be taken for.
func TestDescriptionListsEveryCode(t *testing.T) {
	s := newStand(t)
	_, document := s.ask(t, http.MethodGet, "/api/openapi.json", "")
	text, err := json.Marshal(document["components"].(map[string]any)["schemas"])
	require.NoError(t, err)
	var schemas struct {
		Trips    listing `json:"fault.TripCode"`
		Findings listing `json:"fault.FindingCode"`
		Severity listing `json:"fault.Severity"`
		Outcome  listing `json:"record.Outcome"`
		Trip     struct {
			Properties map[string]any `json:"properties"`
		} `json:"record.Trip"`
	}
	require.NoError(t, json.Unmarshal(text, &schemas))

	var trips []fault.Code
	for _, trip := range fault.Trips() {
		trips = append(trips, trip.Code)
		assert.Contains(t, schemas.Trips.Texts[trip.Code], trip.Message+" "+trip.Action, trip.Code)
		for _, other := range trip.Confused {
			assert.Contains(t, schemas.Trips.Texts[trip.Code], other, trip.Code)
		}
	}
	assert.Equal(t, trips, schemas.Trips.Enum, "in the order of precedence")
	known := map[fault.Code]bool{}
	for _, code := range schemas.Findings.Enum {
		assert.False(t, known[code], "%s stands twice", code)
		known[code] = true
	}
	for _, kind := range fault.Kinds() {
		assert.True(t, known[kind.Code], kind.Code)
		assert.Contains(t, schemas.Findings.Texts[kind.Code], kind.Action)
	}
	for _, code := range trips {
		assert.True(t, known[code], "%s is a finding of the run that it ended", code)
	}
	assert.Equal(t, []fault.Code{"record", "warning", "fault"}, schemas.Severity.Enum)
	assert.Len(t, schemas.Outcome.Enum, 6)
	assert.Equal(t, map[string]any{"$ref": "#/components/schemas/fault.TripCode"}, schemas.Trip.Properties["code"])
}
