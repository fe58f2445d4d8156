package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"anodized/hal/haltest/leak"
	"anodized/hal/haltest/together"
)

// TestMain lets scripts, and tests that need another process, call this very
// program by its name.
func TestMain(m *testing.M) {
	testscript.Main(apart{m}, map[string]func(){"anodized": main})
}

// apart runs the tests with a folder of their own for the locks of benches.
type apart struct{ *testing.M }

func (a apart) Run() int {
	folder, err := os.MkdirTemp("", "anodized-test-")
	if err == nil {
		defer os.RemoveAll(folder)
		err = os.Setenv("XDG_RUNTIME_DIR", folder)
	}
	if err == nil {
		err = together.Wait()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "before the tests:", err)
		return 1
	}
	return leak.Main(a.M)
}

// TestScripts runs what a person would type. Beside the usual words of a script
// there is
//
//	exits STATUS PROGRAM [ARGUMENT...]
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "",
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
	})
}

// exits runs a program and compares its exit status.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS PROGRAM [ARGUMENT...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var failed *exec.ExitError
	switch {
	case errors.As(err, &failed):
		got = failed.ExitCode()
	case err != nil:
		ts.Fatalf("run %q: %v", args[1:], err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}
