package profiles

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal/unit"
)

func unitVolts(v float64) *unit.Volts { q := unit.Volts(v); return &q }

func answersOfTheBench() SetUp {
	return SetUp{
		Isolation: &Answer{Date: "2026-03-02", Word: Isolated, How: `ohmmeter "two", no path: \ none`},
		Ripple:    &Answer{Date: "2026-03-02", Value: 0.2},
		Bleed:     &Answer{Date: "2026-03-02", Value: 1000, How: ThroughAlways},
	}
}

func loadCheckOfTheBench() LoadCheck {
	metered := 10.01
	return LoadCheck{Date: "2026-03-03", Resistor: 100, Tolerance: 1, Power: 50, Meter: `the "yellow" one`,
		Points: []LoadPoint{{Set: 10, Volts: 10.02, Amperes: 0.1003, Metered: unitVolts(metered)}, {Set: 20, Volts: 20, Amperes: 0.2}},
		Volts:  &Line{Gain: 1.001, Offset: -0.002}, Amperes: Line{Gain: 1, Offset: 0.0001}, Result: CheckGood}
}

// TestAnswersGoIntoEveryGoodBenchAndNothingIsLost: each old line stands in the new text,
// in its order; the answers and the check read back.
func TestAnswersGoIntoEveryGoodBenchAndNothingIsLost(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(goodFolder, "bench*.yaml"))
	require.NoError(t, err)
	require.Greater(t, len(paths), 6)
	for _, path := range paths {
		before := good(t, filepath.Base(path))
		after, err := Answered(path, before, answersOfTheBench())
		require.NoError(t, err, path)
		after, err = Checked(path, after, loadCheckOfTheBench())
		require.NoError(t, err, path)
		b, err := ReadBench(path, after)
		require.NoError(t, err)
		assert.Equal(t, answersOfTheBench().Isolation, b.SetUp.Isolation)
		assert.Equal(t, loadCheckOfTheBench(), b.Checks[len(b.Checks)-1])
		if !strings.Contains(string(before), "set-up:") {
			assert.True(t, strings.HasPrefix(string(after), string(before)), path)
		}
	}
}

const handwritten = `supply:   # by the window
  driver: scpi
  address: tcp://192.0.2.5:5025
  highest voltage: 120 V
  highest current: 5 A
  dialect: {status: questionable, settle: 150 ms, decimals_v: 3, decimals_a: 4, mains_return: halted}

# What nobody can read.
set-up:
    # asked at Easter
    ripple:   # under 1 A
        date: 2026-01-02
        answer: not measured   # no oscilloscope
    # this belongs to the contactor
    contactor: {date: 2026-01-02, answer: none}

# The lid.
interlock: {driver: modbus, address: tcp://192.0.2.6:502, inputs: [0, 1]}
`

func TestAnAnswerTakesThePlaceOfTheOldOneAndKeepsItsComments(t *testing.T) {
	after, err := Answered("b.yaml", []byte(handwritten), SetUp{
		Ripple:      &Answer{Date: "2026-03-02", Value: 0.2},
		MainsReturn: &Answer{Date: "2026-03-02", Word: Halted}})
	require.NoError(t, err)
	assert.Contains(t, string(after), `
# What nobody can read.
set-up:
    # asked at Easter
    # under 1 A
    # no oscilloscope
    ripple: {date: 2026-03-02, answer: 0.2 V}
    # this belongs to the contactor
    contactor: {date: 2026-01-02, answer: none}
    mains return: {date: 2026-03-02, answer: halted}

# The lid.
`)
	again, err := Answered("b.yaml", after, SetUp{Ripple: &Answer{Date: "2026-03-02", Value: 0.2}})
	require.NoError(t, err)
	assert.Equal(t, string(after), string(again), "the same answer changes nothing")
}

func TestChecksAreAddedBelowEachOther(t *testing.T) {
	content := good(t, "bench-set-up.yaml")
	for range 3 {
		var err error
		content, err = Checked("b.yaml", content, loadCheckOfTheBench())
		require.NoError(t, err)
	}
	b, err := ReadBench("b.yaml", content)
	require.NoError(t, err)
	require.Len(t, b.Checks, 4)
	assert.Equal(t, "2026-03-03", b.Checks[0].Date)
	windows := strings.ReplaceAll(string(good(t, "bench.yaml")), "\n", "\r\n")
	after, err := Checked("b.yaml", []byte(windows), loadCheckOfTheBench())
	require.NoError(t, err)
	assert.Equal(t, strings.Count(string(after), "\n"), strings.Count(string(after), "\r\n"))
}

// TestALayoutThatCannotBeAddedToIsRefused, in words, with nothing changed.
func TestALayoutThatCannotBeAddedToIsRefused(t *testing.T) {
	bench := strings.TrimSpace(string(good(t, "bench.yaml")))
	for text, want := range map[string]string{
		bench + "\nset-up: {ripple: {date: 2026-01-02, answer: 1 V}}\n": "line 19: set-up stands on one line",
		bench + "\n...\n": "write the lines by hand",
		`{supply: {driver: scpi, address: "tcp://192.0.2.5:5025", highest voltage: 120 V, highest current: 5 A, dialect: {status: none, settle: 150 ms, decimals_v: 3, decimals_a: 4, mains_return: halted}},
 interlock: {driver: modbus, address: "tcp://192.0.2.6:502", inputs: [0, 1]}}`: "write the lines by hand",
	} {
		_, err := Answered("b.yaml", []byte(text), answersOfTheBench())
		require.ErrorContains(t, err, want)
	}
	_, err := Answered("b.yaml", []byte("supply: 1"), SetUp{})
	var mistakes Mistakes
	require.True(t, errors.As(err, &mistakes))
}

// TestAnyAnswerReadsBack whatever a person types as the way of testing.
func TestAnyAnswerReadsBack(t *testing.T) {
	content := good(t, "bench.yaml")
	rapid.Check(t, func(t *rapid.T) {
		how := strings.TrimSpace(rapid.StringMatching(`[ -~äöµΩ°]{1,80}`).Draw(t, "how"))
		if how == "" {
			return
		}
		want := SetUp{Isolation: &Answer{Date: "2026-03-02", Word: Isolated, How: how},
			LostHostTimer: &Answer{Date: "2026-03-02", Value: rapid.Float64Range(0.1, 3600).Draw(t, "seconds")}}
		after, err := Answered("b.yaml", content, want)
		require.NoError(t, err)
		b, err := ReadBench("b.yaml", after)
		require.NoError(t, err)
		require.Equal(t, &want, b.SetUp)
	})
}

// FuzzAnswered: what comes out reads as the same bench with the answers, or nothing does.
func FuzzAnswered(f *testing.F) {
	seeds(f)
	f.Add([]byte(handwritten))
	f.Fuzz(func(t *testing.T, content []byte) {
		after, err := Answered("fuzz", content, answersOfTheBench())
		if err != nil {
			require.Nil(t, after)
			return
		}
		b, err := ReadBench("fuzz", after)
		require.NoError(t, err)
		require.Equal(t, answersOfTheBench().Bleed, b.SetUp.Bleed)
		again, err := Answered("fuzz", after, answersOfTheBench())
		require.NoError(t, err)
		require.Equal(t, string(after), string(again))
	})
}

func TestRewriteIsAllOrNothing(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "bench.yaml")
	require.NoError(t, os.WriteFile(path, good(t, "bench.yaml"), 0o640))
	link := filepath.Join(folder, "link.yaml")
	require.NoError(t, os.Symlink("bench.yaml", link))
	give := func(file string, content []byte) ([]byte, error) { return Answered(file, content, answersOfTheBench()) }
	require.NoError(t, Rewrite(link, give))

	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink)
	info, err = os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode())
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(content), "isolation: {date: 2026-03-02")

	require.ErrorIs(t, Rewrite("-", give), ErrNotAFile)
	boom := errors.New("boom")
	require.ErrorIs(t, Rewrite(path, func(string, []byte) ([]byte, error) { return nil, boom }), boom)
	err = Rewrite(path, func(_ string, content []byte) ([]byte, error) {
		return content, os.WriteFile(path, []byte("by another hand"), 0o640)
	})
	require.ErrorContains(t, err, "somebody else")
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "no file is left over")
}
