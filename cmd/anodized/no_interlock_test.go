package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// There is no way around the lid switch: no command takes a bench without one, however it
// is left out, and none touches the supply or the journal before it says so.
func TestNoCommandTakesABenchWithoutAnInterlock(t *testing.T) {
	good := goodBench(t)
	before, rest, found := strings.Cut(good, "interlock:")
	require.True(t, found)
	_, after, found := strings.Cut(rest, "bath temperature:")
	require.True(t, found)
	after = "bath temperature:" + after
	for name, text := range map[string]string{
		"left out": before + after, "null": before + "interlock: null\n" + after, "empty": before + "interlock: {}\n" + after,
		"none": before + "interlock: {driver: none}\n" + after, "no inputs": before + "interlock: {driver: modbus, address: tcp://192.0.2.6:502}\n" + after,
		"one input": before + "interlock: {driver: modbus, address: tcp://192.0.2.6:502, inputs: [0]}\n" + after,
	} {
		folder := t.TempDir()
		file := filepath.Join(folder, "bench.yaml")
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		daemon := filepath.Join(folder, "daemon.yaml")
		require.NoError(t, os.WriteFile(daemon, []byte("listen: 127.0.0.1:0\nbench: bench.yaml\n"), 0o600))
		journal := filepath.Join(folder, "journal.db")
		for _, command := range []string{
			"check " + file, "run --bench " + file + " --journal " + journal, "plan --bench " + file,
			"serve --listen 127.0.0.1:0 --bench " + file + " --journal " + journal, "serve --config " + daemon + " --journal " + journal,
			"bench --bench " + file, "bench --set-up --bench " + file,
			"bench --bench " + file + " --dummy-load 100ohm --dummy-load-power 50W", "commission --mains-off " + file,
		} {
			t.Run(fmt.Sprintf("%s, %s", name, strings.Fields(command)[0]), func(t *testing.T) {
				refusesWithPlace(t, strings.Fields(command), file)
				assert.NoFileExists(t, journal)
			})
		}
	}
}

// refusesWithPlace demands status 2 and a message with a place in the file.
func refusesWithPlace(t *testing.T, command []string, file string) {
	t.Helper()
	var out, complaints bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &complaints, getenv: func(string) string { return "" }}
	assert.Equal(t, statusBadInput, run(context.Background(), e, command), "%v: %s", command, complaints.String())
	assert.Regexp(t, file+`:[0-9]+:[0-9]+: .*(interlock|inputs|driver)`, out.String()+complaints.String())
}
