package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// checking runs the command as a person would.
func checking(stdin string, args ...string) (status int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	e := env{stdin: strings.NewReader(stdin), stdout: &out, stderr: &complaints, getenv: func(string) string { return "" }}
	status = run(context.Background(), e, append([]string{"check"}, args...))
	return status, out.String(), complaints.String()
}

func TestCheckSaysWhatAFileIs(t *testing.T) {
	status, stdout, stderr := checking("", "../../testdata/good/profile.yaml", "../../testdata/good/curve.csv")
	assert.Equal(t, statusDone, status)
	assert.Equal(t, "../../testdata/good/profile.yaml: profile, ok\n../../testdata/good/curve.csv: curve, ok\n", stdout)
	assert.Empty(t, stderr)
}

func TestCheckSaysWhatIsWrong(t *testing.T) {
	status, stdout, stderr := checking("", "../../testdata/bad/profile-ramp-zero.yaml", "../../testdata/good/rack.yaml")
	assert.Equal(t, statusBadInput, status)
	assert.Equal(t, "../../testdata/bad/profile-ramp-zero.yaml:5:7: ramp: \"0 V/s\" is out of range; allowed is 0.01 V/s to 50 V/s\n"+
		"../../testdata/good/rack.yaml: rack, ok\n", stdout)
	assert.Equal(t, "anodized: 1 of 2 files are wrong\n", stderr)
}

func TestCheckReadsStandardInput(t *testing.T) {
	status, stdout, _ := checking("volts,L,a,b\n10,70,4,30\n", "-")
	assert.Equal(t, statusDone, status)
	assert.Equal(t, "-: readings, ok\n", stdout)
}

func TestCheckSaysOfASupplyThatItCannotBeStarved(t *testing.T) {
	text, err := os.ReadFile("../../testdata/good/bench-modbus.yaml")
	require.NoError(t, err)
	least := strings.ReplaceAll(string(text), "min: 0 V", "min: 1.505 V")
	require.NotEqual(t, string(text), least)
	status, stdout, _ := checking(least, "-")
	assert.Equal(t, statusDone, status)
	assert.Equal(t, "-: bench, ok\n  note: its map lets it be set to no less than 1.51 V and 0 A: "+
		"one that does not obey off goes on giving that, and only contactor, emergency stop or plug end it\n", stdout)
}

func TestCheckAsJSON(t *testing.T) {
	status, stdout, _ := checking("", "--json", "../../testdata/good/bench.yaml", "../../testdata/bad/empty.yaml", "no-such-file")
	assert.Equal(t, statusBadInput, status)
	var got struct {
		Files []struct {
			Path, Kind string
			OK         bool
			Errors     []struct {
				Line, Column int
				Message      string
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(stdout), &got))
	require.Len(t, got.Files, 3)
	assert.True(t, got.Files[0].OK)
	assert.Equal(t, "bench", got.Files[0].Kind)
	assert.NotNil(t, got.Files[0].Errors, "an empty list, not null")
	assert.Equal(t, 1, got.Files[1].Errors[0].Line)
	assert.Equal(t, "the file is empty", got.Files[1].Errors[0].Message)
	assert.Contains(t, got.Files[2].Errors[0].Message, "no such file")
	assert.Equal(t, 1, strings.Count(stdout, "\n"))
}

func TestCheckNeedsAFile(t *testing.T) {
	status, _, stderr := checking("")
	assert.Equal(t, statusBadInput, status)
	assert.Contains(t, stderr, "something is missing: anodized check FILE...")
}

// Every bad file ends with status 2 and a message that begins with its place.
func TestCheckRefusesEveryBadFile(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("../../testdata/bad/*")
	require.NoError(t, err)
	for _, file := range files {
		if filepath.Ext(file) == ".txt" {
			continue
		}
		status, stdout, _ := checking("", file)
		assert.Equal(t, statusBadInput, status, file)
		assert.Truef(t, strings.HasPrefix(stdout, file+":"), "%s: %s", file, stdout)
	}
	_, err = os.Stat("../../testdata/bad/golden.txt")
	require.NoError(t, err)
}
