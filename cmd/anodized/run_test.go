package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// child is this program as a process of its own, its events read as they come.
type child struct {
	t       *testing.T
	command *exec.Cmd
	lines   *bufio.Scanner
	errors  bytes.Buffer
	result  record.Result
}

func start(t *testing.T, args ...string) *child {
	t.Helper()
	return startWith(t, nil, args...)
}

// startWith starts with more in the environment.
func startWith(t *testing.T, more []string, args ...string) *child {
	t.Helper()
	c := &child{t: t, command: exec.Command("anodized", args...)}
	c.command.Env = append(os.Environ(), more...)
	out, err := c.command.StdoutPipe()
	require.NoError(t, err)
	c.command.Stderr = &c.errors
	require.NoError(t, c.command.Start())
	t.Cleanup(func() {
		if c.command.ProcessState == nil {
			assert.NoError(t, c.command.Process.Kill())
		}
	})
	c.lines = bufio.NewScanner(out)
	c.lines.Buffer(nil, 1<<20)
	return c
}

// until reads events until one holds all these texts.
func (c *child) until(texts ...string) {
	c.t.Helper()
	for c.lines.Scan() {
		all := true
		for _, text := range texts {
			all = all && strings.Contains(c.lines.Text(), text)
		}
		if all {
			return
		}
	}
	c.t.Fatalf("no event with %q; standard error: %s", texts, &c.errors)
}

// end reads the rest and returns the exit status.
func (c *child) end() int {
	c.t.Helper()
	last := ""
	for c.lines.Scan() {
		last = c.lines.Text()
	}
	err := c.command.Wait()
	if last != "" {
		require.NoError(c.t, json.Unmarshal([]byte(last), &c.result), last)
	}
	var failed *exec.ExitError
	if errors.As(err, &failed) {
		return failed.ExitCode()
	}
	require.NoError(c.t, err)
	return 0
}

func TestSignalsStopTheLoad(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		signal syscall.Signal
		flags  []string
		status int
		why    string
	}{
		"Ctrl-C":         {syscall.SIGINT, nil, statusNotRight, "Ctrl-C"},
		"Ctrl-C, by eye": {syscall.SIGINT, []string{"--by-eye"}, statusDone, "Ctrl-C"},
		"SIGTERM":        {syscall.SIGTERM, nil, statusNotRight, "SIGTERM"},
		"SIGHUP":         {syscall.SIGHUP, nil, statusNotRight, "SIGHUP: the terminal is gone"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "j.db")
			run := start(t, append([]string{"run", "--json", "--speed", "20", "--journal", path}, c.flags...)...)
			run.until(`"event":"state"`, `"state":"ramping"`)
			require.NoError(t, run.command.Process.Signal(c.signal))
			assert.Equal(t, c.status, run.end())
			assert.Equal(t, record.Stopped, run.result.Outcome)
			assert.Equal(t, []string{c.why}, run.result.Reasons)
			assert.Equal(t, len(c.flags) > 0, run.result.ByEye)
			assert.Equal(t, record.Stopped, recorded(t, path, "1").Result.Outcome, "the record is kept")
		})
	}
}

func TestSecondInterruptEndsAtOnce(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "j.db")
	run := start(t, "run", "--json", "--speed", "4", "--journal", path)
	run.until(`"event":"state"`, `"state":"contact-check"`)
	require.NoError(t, run.command.Process.Signal(syscall.SIGINT))
	run.until(`"state":"discharging"`)
	if err := run.command.Process.Signal(syscall.SIGINT); !errors.Is(err, os.ErrProcessDone) {
		require.NoError(t, err)
	}
	assert.Equal(t, statusNotRight, run.end())
	assert.Equal(t, record.Stopped, run.result.Outcome)
}

func recorded(t *testing.T, path, run string) record.Run {
	t.Helper()
	reader, err := journal.OpenReadOnly(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	found, err := reader.Run(run)
	require.NoError(t, err)
	return found
}

func TestRecordSaysWhatTheResultSaid(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	run := start(t, "run", "--json", "--journal", path, "--operator", "Ida", "--note", "first load", "--seed", "4")
	assert.Equal(t, statusDone, run.end())
	kept := recorded(t, path, "1")
	assert.Equal(t, run.result, kept.Result)
	in := kept.Intent
	assert.Equal(t, []any{"Ida", "first load", uint64(4), true}, []any{in.Operator, in.Note, in.Seed, in.Simulated})
	assert.Contains(t, in.Supply, "SIMULATED")
	assert.NotEmpty(t, in.Plan.ID)
	assert.Equal(t, in.Plan.Profile, in.Profile.Name)
	assert.Less(t, *in.LidOpened, *in.LidClosed)
	assert.Less(t, *in.LidClosed, 0.0)
	assert.Greater(t, len(kept.Rows), 1000)
	energised := 0
	for _, row := range kept.Rows {
		if row.T > 0 && row.Output == 2 {
			energised++
		}
	}
	assert.InDelta(t, *run.result.EnergisedSeconds, float64(energised)/10, 1, "every energised second has its rows")
}

func TestJournalInUseIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	held, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, held.Close()) }()
	var out, messages bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &messages, getenv: os.Getenv}
	assert.Equal(t, statusCannot, run(t.Context(), e, []string{"run", "--json", "--journal", path}))
	var result record.Result
	require.NoError(t, json.Unmarshal(out.Bytes(), &result), "one line, the result")
	assert.Equal(t, record.Refused, result.Outcome)
	assert.Contains(t, result.Reasons[0], "in use")
	assert.Contains(t, messages.String(), "in use")
}

func TestProfileFromStandardInput(t *testing.T) {
	profile := `name: pale yellow by hand
metal: titanium-grade-5
bath: bicarbonate
target: 20 V
ramp: 1 V/s
current density: 5 mA/cm2
end:
  current density: 0.3 mA/cm2
  sustained: 5 s
`
	var out bytes.Buffer
	e := env{stdin: strings.NewReader(profile), stdout: &out, stderr: io.Discard, getenv: os.Getenv}
	args := []string{"run", "--json", "--profile", "-", "--journal", filepath.Join(t.TempDir(), "j.db")}
	assert.Equal(t, statusDone, run(t.Context(), e, args))
	assert.Contains(t, out.String(), `"target_volts":20,`)
}

func TestMomentsOfARun(t *testing.T) {
	assert.Equal(t, "0:00", moment(0))
	assert.Equal(t, "1:18", moment(78.04))
	assert.Equal(t, "10:00", moment(599.6))
}
