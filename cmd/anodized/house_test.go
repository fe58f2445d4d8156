package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// room says what the packages of one place may import, and why. In own, a place
// ending in /... stands for all below it.
type room struct {
	own    []string // packages of this module
	others []string // modules of others
	pure   bool     // no clock, goroutine, file, socket, log or random source
	why    string
}

const module = "anodized"

// house is the table of rooms. A package that is not listed here has no room.
var house = map[string]room{
	"hal/unit": {why: "quantities stand on nothing"},
	"hal":      {own: []string{"hal/unit"}, why: "contracts know no driver"},
	"profiles": {own: []string{"hal/unit"}, others: []string{"github.com/goccy/go-yaml"}, why: "what a shop writes down holds no physics"},

	"hal/scpi":                 {own: []string{"hal", "hal/unit"}, why: "a driver gets a transport that it cannot close"},
	"hal/modbus":               {own: []string{"hal", "hal/unit", "hal/probe"}, why: "a driver gets a transport that it cannot close"},
	"hal/watchdog":             {others: []string{"golang.org/x/sys"}, why: "the watchdog of the computer itself; fed by the loop and by nothing else"},
	"hal/hwmon":                {why: "what the board of this computer says of itself"},
	"hal/probe":                {own: []string{"hal", "hal/unit"}, why: "one keeper of readings for every slow thermometer"},
	"hal/onewire":              {own: []string{"hal", "hal/unit", "hal/probe"}, others: []string{"periph.io/x/conn/v3"}, why: "a driver gets a bus that it cannot close"},
	"hal/analog":               {own: []string{"hal", "hal/unit", "hal/analog/chip"}, why: "a supply of converters, whose bus it cannot close"},
	"hal/analog/chip":          {own: []string{"hal", "hal/unit"}, others: []string{"periph.io/x/conn/v3"}, why: "volts at a pin; what they stand for is not its business"},
	"hal/rtd":                  {own: []string{"hal", "hal/unit", "hal/probe"}, others: []string{"periph.io/x/conn/v3"}, why: "a driver gets a port that it cannot close"},
	"hal/gpio":                 {own: []string{"hal", "hal/unit"}, others: []string{"golang.org/x/sys"}, why: "a driver gets lines that it cannot close; only the chip itself knows the kernel"},
	"hal/spectral":             {own: []string{"hal", "hal/unit"}, others: []string{"periph.io/x/conn/v3"}, why: "a driver gets a bus that it cannot close"},
	"hal/bench":                {own: []string{"hal/...", "profiles"}, others: []string{"periph.io/x/conn/v3", "periph.io/x/host/v3", "golang.org/x/sys"}, why: "the only place that opens and closes devices"},
	"hal/haltest":              {own: []string{"hal", "hal/unit"}, others: []string{"github.com/stretchr/testify"}, why: "one suite a contract, for any driver"},
	"hal/haltest/leak":         {others: []string{"go.uber.org/goleak"}, why: "no test leaves a goroutine behind, in whatever room"},
	"hal/haltest/draw":         {others: []string{"pgregory.net/rapid"}, why: "property tests draw the same cases on each run"},
	"hal/haltest/together":     {why: "tests that wait need no processor each"},
	"hal/haltest/stand":        {own: []string{"hal", "hal/unit", "hal/haltest", "hal/gpio", "hal/analog/...", "hal/virtual/..."}, others: []string{"periph.io/x/conn/v3"}, why: "the far side of drivers in memory, for tests alone"},
	"hal/virtual":              {own: []string{"hal", "hal/unit", "hal/virtual/..."}, others: []string{"github.com/simonvetter/modbus"}, why: "the plant never shares the controller's physics"},
	"hal/virtual/plant":        {own: []string{"hal/unit"}, others: []string{"gonum.org/v1/gonum"}, why: "the plant never shares the controller's physics"},
	"hal/virtual/front":        {own: []string{"hal", "hal/unit", "hal/virtual", "hal/virtual/..."}, why: "front ends speak for the virtual bench"},
	"hal/virtual/scpiserver":   {own: []string{"hal", "hal/unit"}, why: "an instrument as the standard describes it, with any body"},
	"hal/virtual/pty":          {others: []string{"golang.org/x/sys"}, why: "serial lines without serial ports"},
	"hal/virtual/modbusserver": {own: []string{"hal", "hal/unit"}, others: []string{"github.com/simonvetter/modbus"}, why: "remote inputs as the standard describes them"},

	"controller/fault":     {pure: true, why: "a table"},
	"controller/film":      {own: []string{"hal/unit", "profiles"}, pure: true, why: "growth law: numbers in, numbers out"},
	"controller/optics":    {own: []string{"hal/unit", "profiles"}, pure: true, why: "thin films: numbers in, numbers out"},
	"controller/colour":    {own: []string{"hal/unit", "profiles", "controller/film", "controller/optics"}, pure: true, why: "colorimetry: numbers in, numbers out"},
	"controller/bands":     {own: []string{"hal/unit", "profiles", "controller/colour"}, pure: true, why: "a fit of bands to colours: numbers in, numbers out"},
	"controller/choose":    {own: []string{"hal/unit", "profiles", "controller/colour"}, pure: true, why: "what to know before a colour is settled on: numbers in, words out"},
	"controller/calibrate": {own: []string{"hal/unit", "profiles", "controller/colour", "controller/film", "controller/optics"}, pure: true, why: "a ladder must say the same tomorrow"},
	"controller/match":     {own: []string{"hal/unit", "profiles", "controller/colour"}, pure: true, why: "a verdict on a colour must say the same tomorrow"},
	"controller/rack":      {own: []string{"hal/unit", "profiles"}, pure: true, why: "parts to area"},
	"controller/rack/mesh": {own: []string{"hal/unit"}, why: "reads a mesh from an io.Reader"},
	"controller/plan":      {own: []string{"hal/unit", "profiles", "controller/film", "controller/colour", "controller/rack"}, pure: true, why: "a plan is numbers only"},
	"controller/watch":     {own: []string{"hal/unit", "profiles", "controller/fault", "controller/film", "controller/plan"}, pure: true, why: "the same code runs bench, simulation and replay"},
	"controller/process":   {own: []string{"hal/unit", "profiles", "controller/fault", "controller/plan", "controller/record", "controller/watch"}, pure: true, why: "the same code runs bench, simulation and replay"},
	"controller/record":    {own: []string{"hal/unit", "profiles", "controller/fault", "controller/plan", "controller/watch"}, why: "rows as values; wall-clock labels are values too"},
	"controller/replay":    {own: []string{"hal/unit", "controller/fault", "controller/plan", "controller/process", "controller/record", "controller/watch"}, pure: true, why: "one way from rows to numbers, for the journal and the review"},
	"controller/review":    {own: []string{"hal/unit", "profiles", "controller/fault", "controller/film", "controller/plan", "controller/process", "controller/record", "controller/replay", "controller/watch", "controller/colour"}, pure: true, why: "a review must say the same tomorrow"},

	"controller/proof":         {own: []string{"hal/unit", "profiles"}, pure: true, why: "a verdict on a bench must say the same tomorrow"},
	"controller/commissioning": {own: []string{"hal", "hal/unit", "controller", "controller/fault", "controller/plan", "controller/process", "controller/proof", "controller/record"}, why: "proves open devices; it knows contracts, not drivers, and energises through the Station alone"},

	"controller":                 {own: []string{"hal", "hal/unit", "profiles", "controller/fault", "controller/plan", "controller/process", "controller/record", "controller/watch"}, why: "one goroutine owns the supply; it knows contracts, not drivers"},
	"controller/journal":         {own: []string{"controller/record", "controller/replay", "controller/fault", "controller/plan", "controller/process", "hal/unit", "profiles"}, others: []string{"modernc.org/sqlite", "modernc.org/libc", "golang.org/x/sys"}, why: "the only importer of its database driver"},
	"controller/report":          {own: []string{"controller/...", "hal/unit", "profiles"}, others: []string{"gonum.org/v1/plot", "golang.org/x/image"}, why: "pictures read records, never devices"},
	"controller/report/terminal": {own: []string{"controller/...", "hal/unit", "profiles"}, why: "pictures read records, never devices"},
	"controller/metrics":         {own: []string{"controller", "controller/fault", "controller/record", "controller/process", "hal/unit"}, others: []string{"github.com/prometheus/client_golang", "github.com/prometheus/client_model"}, why: "a scrape never touches hardware"},
	"controller/web":             {own: []string{"controller", "controller/...", "hal/unit", "profiles"}, others: []string{"github.com/prometheus/client_golang", "golang.org/x/crypto/bcrypt"}, why: "windows read the snapshot and the journal; they never reach a device"},
	"controller/campaign":        {own: []string{"controller", "controller/...", "hal/...", "profiles"}, why: "seeded runs over process, watch and the virtual plant"},

	"cmd/anodized": {own: []string{"controller/...", "controller", "hal/...", "hal", "profiles"}, others: []string{"github.com/spf13/cobra", "github.com/spf13/pflag", "golang.org/x/term", "golang.org/x/sys", "github.com/coreos/go-systemd/v22"}, why: "wires, and nothing else"},
}

// impure are the packages that a pure room may not have.
var impure = []string{"os", "net", "log", "time", "sync", "math/rand", "context", "io/fs", "runtime", "crypto/rand", "syscall", "unsafe"}

func TestEveryImportIsAllowedByTheTableOfRooms(t *testing.T) {
	files(t, func(dir, path string) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		rules, known := house[dir]
		if !assert.True(t, known, "%s is in no room: add it to the table, or move it", path) {
			return
		}
		for _, imported := range imports(t, path) {
			assert.True(t, rules.allows(dir, imported), "%s imports %s, but %s may not: %s", path, imported, dir, rules.why)
		}
	})
}

func (r room) allows(dir, imported string) bool {
	if own, found := strings.CutPrefix(imported, module+"/"); found {
		return slices.ContainsFunc(r.own, func(allowed string) bool { return covers(allowed, own) })
	}
	if !strings.Contains(strings.Split(imported, "/")[0], ".") {
		return !r.pure || !slices.ContainsFunc(impure, func(bad string) bool { return imported == bad || strings.HasPrefix(imported, bad+"/") })
	}
	return slices.ContainsFunc(r.others, func(allowed string) bool { return covers(allowed+"/...", imported) || imported == allowed })
}

func covers(allowed, own string) bool {
	if below, all := strings.CutSuffix(allowed, "/..."); all {
		return own == below || strings.HasPrefix(own, below+"/")
	}
	return allowed == own
}

// TestOneImporterOfTheDatabase keeps SQL out of every other room, tests too.
func TestOneImporterOfTheDatabase(t *testing.T) {
	files(t, func(dir, path string) {
		for _, imported := range imports(t, path) {
			if strings.HasPrefix(imported, "modernc.org/sqlite") || imported == "database/sql" {
				assert.Equal(t, "controller/journal", dir, path)
			}
		}
	})
}

func TestPureRoomsStartNoGoroutine(t *testing.T) {
	goroutine := regexp.MustCompile(`(?m)^\s*go (func|\w)`)
	files(t, func(dir, path string) {
		if house[dir].pure && !strings.HasSuffix(path, "_test.go") {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Nil(t, goroutine.FindIndex(text), "%s starts a goroutine", path)
		}
	})
}

// TestEveryPackageOpensWithItsConcepts: a newcomer needs words before functions.
func TestEveryPackageOpensWithItsConcepts(t *testing.T) {
	comments := map[string]int{}
	files(t, func(dir, path string) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.PackageClauseOnly|parser.ParseComments)
		require.NoError(t, err)
		comments[dir] += 0
		if file.Doc != nil {
			comments[dir]++
		}
	})
	for dir, n := range comments {
		assert.Equal(t, 1, n, "%s needs one package comment", dir)
	}
}

// TestTheRootHoldsOnlyWhatItShould keeps the front door tidy.
func TestTheRootHoldsOnlyWhatItShould(t *testing.T) {
	allowed := []string{"cmd", "controller", "hal", "profiles", "testdata", "deploy", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "SAFETY.md"}
	entries, err := os.ReadDir("../..")
	require.NoError(t, err)
	for _, entry := range entries {
		name := entry.Name()
		assert.True(t, strings.HasPrefix(name, ".") || slices.Contains(allowed, name) || name == "anodized", "the root holds %s", name)
	}
}

func files(t *testing.T, visit func(dir, path string)) {
	t.Helper()
	for _, top := range []string{"cmd", "controller", "hal", "profiles"} {
		err := filepath.WalkDir("../../"+top, func(path string, entry fs.DirEntry, err error) error {
			if err == nil && strings.HasSuffix(path, ".go") {
				visit(filepath.ToSlash(strings.TrimPrefix(filepath.Dir(path), "../../")), path)
			}
			return err
		})
		require.NoError(t, err)
	}
}

func imports(t *testing.T, path string) (list []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	require.NoError(t, err)
	for _, spec := range file.Imports {
		name, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		list = append(list, name)
	}
	return list
}
