package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets scripts, and tests that need another process, call this very
// program by its name.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"anodized": main})
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
