package fault_test

import (
	"flag"
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/fault"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

var update = flag.Bool("update", false, "rewrite the fault table in the manual")

var kebab = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

func TestTripsAreWhole(t *testing.T) {
	seen := map[fault.Code]bool{}
	for _, trip := range fault.Trips() {
		assert.Regexp(t, kebab, string(trip.Code))
		assert.False(t, seen[trip.Code], "%s stands twice", trip.Code)
		assertSentence(t, trip.Code, trip.Message)
		assertSentence(t, trip.Code, trip.Action)
		seen[trip.Code] = true
	}
	assert.Len(t, seen, 28, "the set of trips is closed; change it with the manual and the state machine")
	assert.LessOrEqual(t, len(seen), 32, "fault.Set has a bit for each")
}

func TestKindsAreWhole(t *testing.T) {
	seen := map[fault.Code]bool{}
	for _, kind := range fault.Kinds() {
		assert.Regexp(t, kebab, string(kind.Code))
		assert.False(t, seen[kind.Code], "%s stands twice", kind.Code)
		assert.Contains(t, []fault.Severity{fault.Record, fault.Warning, fault.Fault}, kind.Severity, kind.Code)
		assertSentence(t, kind.Code, kind.Action)
		seen[kind.Code] = true
	}
}

// A table cell must not hold a bar or a line break, and a message holds no verb
// of a format that nobody fills in.
func assertSentence(t *testing.T, code fault.Code, text string) {
	t.Helper()
	assert.NotEmpty(t, text, code)
	assert.False(t, strings.ContainsAny(text, "|\n%"), "%s: %q", code, text)
	assert.True(t, strings.HasSuffix(text, "."), "%s: %q does not end as a sentence", code, text)
}

func TestResembles(t *testing.T) {
	breakdown, _ := fault.TripByCode(fault.Breakdown)
	assert.True(t, breakdown.Resembles(fault.ContactIntermittent, false))
	assert.False(t, breakdown.Resembles(fault.SupplySilent, true))
	lost, _ := fault.TripByCode(fault.ContactLost)
	assert.True(t, lost.Resembles(fault.OverVoltage, true))
	assert.False(t, lost.Resembles(fault.OverVoltage, false), "without the limit the current does not lack")
}

func TestLookUp(t *testing.T) {
	trip, ok := fault.TripByCode(fault.InterlockOpen)
	require.True(t, ok)
	assert.Equal(t, fault.InterlockOpen, trip.Code)
	kind, ok := fault.KindByCode(fault.LeakPlateau)
	require.True(t, ok)
	assert.Equal(t, fault.Warning, kind.Severity)
	_, ok = fault.TripByCode(fault.LeakPlateau)
	assert.False(t, ok, "a leak never trips")
	_, ok = fault.KindByCode("no-such-code")
	assert.False(t, ok)
}

func TestFirstCause(t *testing.T) {
	for _, c := range []struct{ a, b, want fault.Code }{
		{"", "", ""},
		{fault.ShortCircuit, "", fault.ShortCircuit},
		{"", fault.ShortCircuit, fault.ShortCircuit},
		{fault.InterlockOpen, fault.EmergencyStop, fault.EmergencyStop},
		{fault.OverVoltage, fault.InterlockDisagrees, fault.InterlockDisagrees},
		{fault.ShortCircuit, fault.OverVoltage, fault.OverVoltage},
		{fault.OverVoltage, fault.OutputStuckOn, fault.OutputStuckOn},
		{fault.ControlAbsent, fault.ShortCircuit, fault.ShortCircuit},
		{fault.SupplySilent, fault.ControlAbsent, fault.ControlAbsent},
		{fault.ReadbackStuck, fault.SupplyOutOfStep, fault.SupplyOutOfStep},
		{fault.ContactLost, fault.ReadbackStuck, fault.ReadbackStuck},
		{fault.NotAnswered, fault.ContactLost, fault.ContactLost},
	} {
		assert.Equal(t, c.want, fault.First(c.a, c.b), "%s and %s", c.a, c.b)
	}
}

// The first cause does not depend on the order in which the causes are looked at.
func TestFirstIsCommutativeAndAssociative(t *testing.T) {
	codes := []fault.Code{""}
	for _, trip := range fault.Trips() {
		codes = append(codes, trip.Code)
	}
	rapid.Check(t, func(t *rapid.T) {
		pick := rapid.SampledFrom(codes)
		a, b, c := pick.Draw(t, "a"), pick.Draw(t, "b"), pick.Draw(t, "c")
		if fault.First(a, b) != fault.First(b, a) {
			t.Fatalf("the order of %q and %q matters", a, b)
		}
		if fault.First(fault.First(a, b), c) != fault.First(a, fault.First(b, c)) {
			t.Fatalf("the grouping of %q, %q and %q matters", a, b, c)
		}
	})
}

func TestEmbed(t *testing.T) {
	text, err := fault.Embed("# Before\n" + fault.Begin + "\nold\n" + fault.End + "\nAfter\n")
	require.NoError(t, err)
	assert.Equal(t, "# Before\n"+fault.Markdown()+"After\n", text)
	again, err := fault.Embed(text)
	require.NoError(t, err)
	assert.Equal(t, text, again, "embedding twice changes nothing")
	_, err = fault.Embed("no markers")
	assert.ErrorContains(t, err, fault.Begin)
}

// TestManual holds the table in SAFETY.md against the one in the code. Run the
// tests of this package with -update after a change of the table.
func TestManual(t *testing.T) {
	const manual = "../../SAFETY.md"
	text, err := os.ReadFile(manual)
	if err != nil {
		require.ErrorIs(t, err, fs.ErrNotExist)
		return
	}
	want, err := fault.Embed(string(text))
	require.NoError(t, err, "SAFETY.md must carry the markers of the fault table")
	if *update {
		require.NoError(t, os.WriteFile(manual, []byte(want), 0o644))
		return
	}
	assert.Equal(t, want, string(text), "SAFETY.md is out of date: run go test ./controller/fault -update")
}
