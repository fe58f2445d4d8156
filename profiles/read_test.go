package profiles

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const goodFolder = "../testdata/good"

func good(t *testing.T, name string) []byte {
	t.Helper()
	content, err := os.ReadFile(filepath.Join(goodFolder, name))
	require.NoError(t, err)
	return content
}

func TestGoodFilesAreWhatTheyAre(t *testing.T) {
	kinds := map[string]string{
		"profile.yaml": KindProfile, "profile-other-units.yaml": KindProfile, "profile-timed.yaml": KindProfile,
		"rack.yaml": KindRack, "rack-every-shape.yaml": KindRack, "metal.yaml": KindMetal, "bath.yaml": KindBath,
		"calibration.yaml": KindCalibration, "calibration-of-a-ladder.yaml": KindCalibration, "bench.yaml": KindBench, "bench-gpio.yaml": KindBench, "bench-modbus.yaml": KindBench, "bench-remote-chain.yaml": KindBench, "bench-analog.yaml": KindBench, "bench-analog-fixed-current.yaml": KindBench, "bench-odd-dialect.yaml": KindBench, "bench-set-up.yaml": KindBench, "bench-lost-host-timer.yaml": KindBench,
		"daemon.yaml": KindDaemon, "curve.csv": KindCurve,
		"profile-two-tone.yaml": KindProfile, "profile-sweep.yaml": KindProfile, "profile-thresholds.yaml": KindProfile, "profile-thresholds-strict.yaml": KindProfile, "rack-masked.yaml": KindRack, "bench-colour-sensor.yaml": KindBench,
		"master.yaml": KindMaster, "readings.csv": KindReadings, "readings-cgats.txt": KindCGATS, "readings-cxf.xml": KindCxF,
	}
	entries, err := os.ReadDir(goodFolder)
	require.NoError(t, err)
	require.Len(t, entries, len(kinds))
	for name, want := range kinds {
		kind, err := Check(filepath.Join(goodFolder, name), good(t, name))
		require.NoError(t, err, name)
		assert.Equal(t, want, kind, name)
	}
}

func TestAProfileInOtherUnits(t *testing.T) {
	p, err := OpenProfile(filepath.Join(goodFolder, "profile-other-units.yaml"), nil)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(goodFolder, "metal.yaml"), p.Metal)
	assert.Equal(t, Target{Hex: "#d560af"}, p.Target)
	assert.EqualValues(t, 1, p.Ramp)
	assert.InDelta(t, 4.6*1000/929.0304, float64(p.CurrentDensity), 1e-12)
	assert.InDelta(t, 0.15, float64(p.End.CurrentDensity), 1e-15)
	assert.Equal(t, End{CurrentDensity: p.End.CurrentDensity, Sustained: 5, LongestHold: 180}, p.End)
	assert.Equal(t, "Two lines\nof note.", p.Note)
	m, err := OpenMetal(p.Metal, nil)
	require.NoError(t, err)
	assert.Equal(t, "shop-titanium", m.ID)
}

func TestAProfileWhoseMetalFileIsNotThere(t *testing.T) {
	content := []byte("name: x\nmetal: ./gone.yaml\nbath: bicarbonate\ntarget: 70 V\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend: {time: 60 s}\n")
	_, err := ReadProfile("shop/p.yaml", content)
	require.NoError(t, err, "reading opens no other file")
	_, err = Check("shop/p.yaml", content)
	assert.EqualError(t, err, "shop/p.yaml:1:1: shop/p.yaml names its metal: metal: cannot read shop/gone.yaml: no such file or directory")
}

func TestATimedProfileByLab(t *testing.T) {
	p, err := ReadProfile("p", good(t, "profile-timed.yaml"))
	require.NoError(t, err)
	assert.Equal(t, &[3]float64{58, 55, -21}, p.Target.Lab)
	assert.Equal(t, End{Time: 60}, p.End)
	assert.EqualValues(t, 5, p.CurrentDensity)
}

func TestEveryShape(t *testing.T) {
	k, err := ReadRack("k", good(t, "rack-every-shape.yaml"))
	require.NoError(t, err)
	require.Len(t, k.Parts, 8)
	assert.EqualValues(t, 45, k.FormedTo)
	assert.Equal(t, &Ring{Outside: 34, Bore: 28.6, Height: 10, Chamfer: 0.5, Holes: []Hole{{Diameter: 4, Count: 4}}}, k.Parts[0].Shape.Ring)
	assert.InDelta(t, 50.8, float64(k.Parts[1].Shape.Tube.Height), 1e-12)
	assert.Equal(t, 0.9, k.Parts[2].Wetted)
	assert.Equal(t, 1.2, k.Parts[3].Roughness)
	assert.Equal(t, &Cylinder{Diameter: 32, Height: 2, Holes: []Hole{{Diameter: 6, Count: 1}}}, k.Parts[4].Shape.Disc)
	assert.Equal(t, []Hole{{Diameter: 5.2, Depth: 8, Count: 2}}, k.Parts[5].Shape.Prism.Holes)
	assert.Equal(t, &Mass{Each: 11.76, Thickness: 2.7, Height: 10, Density: 4.43}, k.Parts[7].Shape.Mass)
	assert.EqualValues(t, 3.04, k.Fixture[0].Area)
}

func TestAMeshLiesBesideItsRack(t *testing.T) {
	k, err := ReadRack("shop/racks/k.yaml", []byte("name: k\nparts: [{name: a, count: 1, mesh: ../parts/a.stl}]\n"))
	require.NoError(t, err)
	assert.Equal(t, filepath.Join("shop", "parts", "a.stl"), k.Parts[0].Shape.Mesh)
}

func TestBenches(t *testing.T) {
	b, err := ReadBench("b", good(t, "bench.yaml"))
	require.NoError(t, err)
	assert.Equal(t, SupplyEntry{
		Driver: "scpi", Address: "tcp://192.0.2.5:5025", HighestVoltage: 120, HighestCurrent: 5,
		Dialect: Dialect{
			SendEnd: "lf", ReplyEnd: "any", Compound: true, OPC: true, Errors: "queue", Probe: "ese", OVP: "VOLT:PROT:LEV",
			Status: "questionable", Timeout: 300 * time.Millisecond, Settle: 150 * time.Millisecond,
			DecimalsV: 3, DecimalsA: 4, MainsReturn: "halted",
		},
	}, b.Supply)
	assert.Equal(t, InterlockEntry{Driver: "modbus", Address: "tcp://192.0.2.6:502", Unit: 1, Inputs: [2]int{0, 1}, Timeout: 300 * time.Millisecond}, b.Interlock)
	assert.Equal(t, &ThermometerEntry{Driver: "onewire", Through: "kernel"}, b.Temperature)
	assert.Nil(t, b.Contactor)

	b, err = ReadBench("b", good(t, "bench-odd-dialect.yaml"))
	require.NoError(t, err)
	assert.Equal(t, Dialect{
		SendEnd: "crlf", ReplyEnd: "crlf", Echo: true, Ack: "OK", Enter: []string{"SYST:REM"}, Leave: []string{"SYST:LOC"},
		Errors: "esr", Probe: "idn", OVP: "none", Status: "none", Timeout: time.Second, Gap: 20 * time.Millisecond,
		Settle: 500 * time.Millisecond, DecimalsV: 2, DecimalsA: 3, MainsReturn: "unknown",
	}, b.Supply.Dialect)
	assert.Equal(t, [2]int{3, 2}, b.Interlock.Inputs)
	assert.Equal(t, 1, b.Interlock.Unit)
}

func TestLostHostTimerOfABench(t *testing.T) {
	b, err := ReadBench("b", good(t, "bench-lost-host-timer.yaml"))
	require.NoError(t, err)
	after, arms := b.ArmsLostHost()
	assert.True(t, arms)
	assert.Equal(t, time.Second, after)
	assert.Equal(t, "OUTP:PROT:WDOG", b.Supply.Dialect.LostHostSwitch)
	assert.Equal(t, "OUTP:PROT:WDOG:DEL", b.Supply.Dialect.LostHostDelay)

	text := string(good(t, "bench-lost-host-timer.yaml"))
	for given, want := range map[string]time.Duration{"2.5 s": 2500 * time.Millisecond, "3000 ms": 3 * time.Second, "": time.Second} {
		changed := strings.Replace(text, "lost_host_after: 1 s", "lost_host_after: "+given, 1)
		if given == "" {
			changed = strings.Replace(text, "    lost_host_after: 1 s # 1 s to 3 s; without this line 1 s\n", "", 1)
		}
		b, err := ReadBench("b", []byte(changed))
		require.NoError(t, err)
		after, _ := b.ArmsLostHost()
		assert.Equal(t, want, after)
	}
	for _, answer := range []string{"1 s", "not known"} { // they agree
		_, err = ReadBench("b", []byte(text+"set-up:\n  lost-host timer: {date: 2026-03-02, answer: "+answer+"}\n"))
		require.NoError(t, err)
	}
	plain, err := ReadBench("b", good(t, "bench.yaml"))
	require.NoError(t, err)
	_, arms = plain.ArmsLostHost()
	assert.False(t, arms)
}

func TestAllMistakesOfAFileInTheirOrder(t *testing.T) {
	_, err := ReadProfile("p.yaml", []byte("color: \"#d560af\"\nname: x\nname: y\nmetal: gold\nend:\n  time: 5\n  sustaned: 5 s\nramp: 100 V/s\nbath: bicarbonate\n"))
	var mistakes Mistakes
	require.True(t, errors.As(err, &mistakes))
	want := []string{
		`p.yaml:1:1: unknown key "color" in a profile; did you mean "colour"? allowed: `,
		`p.yaml:1:1: missing key "current density" in a profile, such as "current density: 5 mA/cm2"`,
		`p.yaml:3:1: key "name" stands twice in a profile; it was given in line 2 already`,
		`p.yaml:4:8: metal: no metal is called "gold"; known: `,
		`p.yaml:6:9: time: "5" has no unit; a time is needed: s, ms, min, h`,
		`p.yaml:7:3: unknown key "sustaned" in the end of a profile; did you mean "sustained"? allowed: `,
		`p.yaml:8:7: ramp: "100 V/s" is out of range; allowed is 0.01 V/s to 50 V/s`,
	}
	require.Len(t, mistakes, len(want), err)
	for i, m := range mistakes {
		assert.Contains(t, m.String(), want[i])
	}
}

// A value that no table reads, wherever it stands, is a mistake of its line, and nothing
// that looks at several entries takes the entry around it for a good one.
func TestATagInTheWayOfAnyValue(t *testing.T) {
	value := regexp.MustCompile(`^( *(?:- )?[^#:"{]+:) +[^#|> ].*$`)
	files, err := filepath.Glob(filepath.Join(goodFolder, "*.yaml"))
	require.NoError(t, err)
	for _, file := range files {
		content, err := os.ReadFile(file)
		require.NoError(t, err)
		lines := strings.Split(strings.ReplaceAll(string(content), "\r", ""), "\n")
		for i, line := range lines {
			if !value.MatchString(line) || strings.Contains(line, "}") || strings.HasSuffix(line, ",") {
				continue // within braces
			}
			tagged := slices.Clone(lines)
			tagged[i] = value.ReplaceAllString(line, "$1 !x 1")
			_, err := Check(file, []byte(strings.Join(tagged, "\n")))
			assert.ErrorContains(t, err, fmt.Sprintf("%s:%d:", file, i+1), "%s", tagged[i])
		}
	}
}

func TestTowersAndBooksAreRefused(t *testing.T) {
	cases := map[string]string{
		"parts: " + strings.Repeat("[", 900):                   "k:1:40: brackets are nested more than 32 deep",
		"# a\n# " + strings.Repeat("x", mostWidth):             "k:2:1001: this line has 1002 characters; at most 1000 are read",
		strings.Repeat("\n", mostLines):                        "k:4001:1: the file has 4001 lines; at most 4000 are read",
		strings.Repeat("# "+strings.Repeat("x", 97)+"\n", 656): "k:1:1: the file has 65600 bytes; at most 65536 are read",
	}
	for content, want := range cases {
		_, err := ReadRack("k", []byte(content))
		assert.EqualError(t, err, want)
	}
}

func TestColumnsCountCharacters(t *testing.T) {
	_, err := ReadRack("k", []byte("name: \"é\"\nparts: [{name: ü, count: 0, area: 1 cm2}]\n"))
	assert.ErrorContains(t, err, "k:2:26: count: ")
}

func TestCurves(t *testing.T) {
	c, err := ReadCurve("c", good(t, "curve.csv"))
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0.1, 0.2}, c.Seconds)
	assert.Equal(t, []float64{0, 0.402, 0.655}, c.Amperes)
	assert.NotEqual(t, c.Bath[1], c.Bath[1], "an empty cell is no reading")
	c, err = ReadCurve("c", []byte("amperes,t_s,volts\n1,0,2\n1,1,2\n"))
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 1}, c.Seconds)
	assert.Nil(t, c.Set)
}

// A curve may have 64 MB: work that grows with the square of a line does not end before
// the test's time is over.
func TestALineOfACurveIsReadOnce(t *testing.T) {
	long := strings.Repeat("x", 8<<20)
	_, err := ReadCurve("c", []byte("t_s,volts,amperes\n0,1,2\n1,2,"+long+"\n"))
	assert.ErrorContains(t, err, "c:3:5: column amperes: ")
	_, err = ReadCurve("c", []byte("t_s,volts,amperes\n0,1,2"+strings.Repeat(",1", 4<<20)+"\n"))
	assert.ErrorContains(t, err, "c:2:1: 4194307 cells; the header has 3 columns")
}

func TestAHeaderStopsAfterManyMistakes(t *testing.T) {
	_, err := ReadCurve("c", []byte("t_s,volts,amperes"+strings.Repeat(",x", 1<<20)+"\n0,1,2\n"))
	var mistakes Mistakes
	require.ErrorAs(t, err, &mistakes)
	assert.Len(t, mistakes, mostMistakes+1)
	assert.ErrorContains(t, err, "more than 50 mistakes in 1048579 columns")
}

func TestASheetStopsAfterManyMistakes(t *testing.T) {
	content := []byte("t_s,volts,amperes\n")
	for range 200 {
		content = append(content, "1,x,y\n"...)
	}
	_, err := ReadCurve("c", content)
	var mistakes Mistakes
	require.True(t, errors.As(err, &mistakes))
	assert.LessOrEqual(t, len(mistakes), mostMistakes+4)
	assert.Contains(t, err.Error(), "more than 50 mistakes; the rest of the file was not read")
}

func BenchmarkReadProfile(b *testing.B) {
	content, err := os.ReadFile(filepath.Join(goodFolder, "profile.yaml"))
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadProfile("p", content); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOpticalConstants(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := OpticalConstants("TiO2-Jolivet-amorphous"); err != nil {
			b.Fatal(err)
		}
	}
}

func TestAProfileThatMovesThresholds(t *testing.T) {
	p, err := ReadProfile("p.yaml", append(good(t, "profile.yaml"), "\nwatch: {lost share: 0.05, onset: 8 V, floor: 0.1 mA/cm2, bath away: 2 K, dips: 4}\n"...))
	require.NoError(t, err)
	assert.Equal(t, Watch{LostShare: 0.05, OnsetVolts: 8, FloorDensity: 0.1, BathFar: 2, Dips: 4}, p.Watch)
	filled := p.Watch.Filled()
	assert.Equal(t, 0.05, filled.LostShare)
	assert.Equal(t, 1.3, filled.RiseOverLeast, "what was not said is the default")
	require.NoError(t, filled.Check())
	assert.Equal(t, []string{"lost share 0.05 in place of 0.04", "dips 4 in place of 3", "onset 8 V in place of 7 V",
		"floor 0.1 mA/cm2 in place of 0.09 mA/cm2", "bath away 2 K in place of 1 K"}, p.Watch.Moved())
	assert.Empty(t, Watch{}.Filled().Moved(), "a default that is said is not moved")
	assert.ErrorContains(t, Watch{LostShare: 0.2}.Check(), "lost share is 0.2: allowed is 0.03 to 0.1")
}

func TestEachThresholdHasItsReasonAndLiesWithinItsBounds(t *testing.T) {
	keys := map[string]bool{}
	var w Watch
	for _, threshold := range Thresholds() {
		assert.NotEmpty(t, threshold.Why, threshold.Key)
		assert.NotEmpty(t, threshold.Further, threshold.Key)
		assert.False(t, keys[threshold.Key], threshold.Key)
		keys[threshold.Key] = true
		assert.Less(t, threshold.Least, threshold.Most, threshold.Key)
		assert.LessOrEqual(t, threshold.Least, threshold.Default, threshold.Key)
		assert.LessOrEqual(t, threshold.Default, threshold.Most, threshold.Key)
		assert.Zero(t, *threshold.Of(&w), "%s is kept where another one is", threshold.Key)
		*threshold.Of(&w) = threshold.Default
	}
	assert.Equal(t, Watch{}.Filled(), w)
}
