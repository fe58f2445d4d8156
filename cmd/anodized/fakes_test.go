package main

import (
	"go/ast"
	"go/build/constraint"
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// turning are the rooms whose code turns a load on a real bench.
var turning = []string{"hal", "hal/unit", "hal/scpi", "hal/modbus", "hal/analog", "hal/analog/chip", "hal/probe", "hal/onewire", "hal/rtd", "hal/gpio",
	"hal/watchdog", "controller", "controller/fault", "controller/film", "controller/watch", "controller/process", "controller/replay"}

// pretending is a word in a condition that makes code behave otherwise where nothing is real.
var pretending = regexp.MustCompile(`(?i)simulat|virtual|fake|mock|stub|dry_?run|in_?test|testing`)

// TestHouseKeepsFaultsInFakes: the plant and the instruments misbehave, and the code that
// turns a load asks nowhere whether they are real. What a simulated clock changes is one
// option (ClockWaits), and only the program that opens the virtual bench sets it.
func TestHouseKeepsFaultsInFakes(t *testing.T) {
	t.Parallel()
	seen := 0
	files(t, func(dir, path string) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		file := parsed(t, path)
		onlyMachines(t, path, file)
		if !slices.Contains(turning, dir) {
			return
		}
		seen++
		for _, imported := range imports(t, path) {
			assert.NotEqual(t, "testing", imported, path)
			assert.False(t, strings.HasPrefix(imported, module+"/hal/virtual") || strings.HasPrefix(imported, module+"/hal/haltest"), "%s imports %s", path, imported)
		}
		for _, word := range asked(file) {
			assert.False(t, pretending.MatchString(word), "%s asks for %q: a fault or a simulation belongs in the fakes", path, word)
		}
	})
	assert.Greater(t, seen, 100, "files of the rooms that turn a load")
}

// TestHouseSeesAPretence: what the test above looks for is found where it is.
func TestHouseSeesAPretence(t *testing.T) {
	for _, body := range []string{"if s.devices.Simulated { return }", "for !inTest() {}", "switch { case mocked && n > 1: }", "switch o.Fake { case true: }"} {
		file, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nfunc f() {"+body+"}", 0)
		require.NoError(t, err)
		assert.True(t, slices.ContainsFunc(asked(file), pretending.MatchString), body)
	}
}

// TestHouseSetsTheWaitingClockForTheVirtualBenchAlone: a clock that stands still while the
// disk writes is no clock for a real output.
func TestHouseSetsTheWaitingClockForTheVirtualBenchAlone(t *testing.T) {
	t.Parallel()
	setters := map[string]bool{}
	files(t, func(dir, path string) {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		if !strings.HasSuffix(path, "_test.go") && regexp.MustCompile(`(?i)clockWaits(:|\s*=)\s*true`).Match(text) {
			setters[strings.TrimPrefix(path, "../../")] = strings.Contains(string(text), module+"/hal/virtual") || dir == "controller/campaign"
		}
	})
	assert.NotEmpty(t, setters)
	for path, virtual := range setters {
		assert.True(t, virtual, "%s sets a clock that waits, and opens no virtual bench", path)
	}
}

func parsed(t *testing.T, path string) *ast.File {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
	require.NoError(t, err)
	return file
}

// asked are the names in every condition of a file.
func asked(file *ast.File) (words []string) {
	names := func(n ast.Node) {
		if n == nil {
			return
		}
		ast.Inspect(n, func(n ast.Node) bool {
			if id, is := n.(*ast.Ident); is {
				words = append(words, id.Name)
			}
			return true
		})
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch s := n.(type) {
		case *ast.IfStmt:
			names(s.Cond)
		case *ast.ForStmt:
			if s.Cond != nil {
				names(s.Cond)
			}
		case *ast.SwitchStmt:
			if s.Tag != nil {
				names(s.Tag)
			}
		case *ast.CaseClause:
			for _, one := range s.List {
				names(one)
			}
		}
		return true
	})
	return words
}

// onlyMachines: files are built by the machine that they are for, never by a tag of our own.
func onlyMachines(t *testing.T, path string, file *ast.File) {
	t.Helper()
	known := []string{"linux", "windows", "darwin", "unix", "amd64", "arm64", "arm", "riscv64"}
	for _, group := range file.Comments {
		for _, line := range group.List {
			if !constraint.IsGoBuild(line.Text) {
				continue
			}
			built, err := constraint.Parse(line.Text)
			require.NoError(t, err)
			built.Eval(func(tag string) bool {
				assert.Contains(t, known, tag, path)
				return true
			})
		}
	}
}
