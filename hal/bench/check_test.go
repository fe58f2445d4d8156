package bench

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/profiles"
)

// values are what people write into bench files, right and wrong.
var values = []string{"0", "1", "2", "3", "7", "64", "500", "2000", "1 s", "0.9 s", "300 ms", "20 V", "120 V", "200 V", "5 A", "0.2 A", "1.5 V",
	"pull-up", "pull-down", "none", "low", "high", "halted", "as_before", "unknown", "questionable", "scpi", "modbus", "analog", "gpio", "onewire", "max31865",
	"tcp://127.0.0.1:1", "rtu+tcp://127.0.0.1:1", "rtu:///dev/none?baud=9600", "serial:///dev/none", "usbtmc:///dev/none", "udp://127.0.0.1:1",
	"/dev/none", "LID-A", "28-000005e2fdc3", "kernel", "bus", "[0, 1]", "[A, B]", "true", "ese", "idn", "f32", "i16", "input", "holding", "mcp4725", "dac8562", "ads1115"}

var keyed = regexp.MustCompile(`^(\s*[\w -]+: )([^{\[#\n]+)$`)

// anyBench is one of the good bench files, with a few values changed and lines lost. Its
// addresses lead to nobody.
func anyBench(t *rapid.T, files [][]string) string {
	lines := append([]string{}, rapid.SampledFrom(files).Draw(t, "file")...)
	for range rapid.IntRange(0, 4).Draw(t, "changes") {
		at := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
		if parts := keyed.FindStringSubmatch(lines[at]); parts != nil && rapid.Bool().Draw(t, "change") {
			lines[at] = parts[1] + rapid.SampledFrom(values).Draw(t, "value")
		} else if rapid.IntRange(0, 3).Draw(t, "lose") == 0 {
			lines[at] = ""
		}
	}
	return strings.Join(lines, "\n")
}

var places = regexp.MustCompile(`(tcp|rtu\+tcp)://[\d.]+:\d+`)

func goodBenches(t *testing.T) (files [][]string) {
	paths, err := filepath.Glob("../../testdata/good/bench*.yaml")
	require.NoError(t, err)
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		nobody := places.ReplaceAllStringFunc(string(text), func(place string) string { return place[:strings.LastIndex(place, "/")+1] + "127.0.0.1:1" })
		files = append(files, strings.Split(nobody, "\n"))
	}
	require.Greater(t, len(files), 5)
	return files
}

// TestWhatCheckPassesCanBeOpened: anodized check reads a bench file with the readers of
// profiles alone; nothing that they take may be a mistake to those who open it.
func TestWhatCheckPassesCanBeOpened(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	files := goodBenches(t)
	passed := 0
	rapid.Check(t, func(t *rapid.T) {
		text := anyBench(t, files)
		kind, err := profiles.Check("bench.yaml", []byte(text))
		if err != nil || kind != profiles.KindBench {
			return
		}
		passed++
		b, err := profiles.ReadBench("bench.yaml", []byte(text))
		require.NoError(t, err)
		if b.Virtual() {
			return // opened by who has the virtual bench
		}
		require.NoError(t, Check(b), "%s", text)
		_, err = Open(t.Context(), b, nil)
		require.Error(t, err, "nobody is there")
		require.NotErrorIs(t, err, ErrFile, "%s", text)
	})
	// 405 of 1,000 such files pass. Of the twenty of the short form that is eight on average,
	// three or fewer once in seventy draws, as with the seed of the gate, none or one 5 times in 10,000 (binomial).
	require.Greater(t, passed, 1, "enough of the files pass")
}
