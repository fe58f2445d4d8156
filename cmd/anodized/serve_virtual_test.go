package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A bench file may name the embedded bench: served within the limits that it gives.
func TestServeABenchFileThatIsVirtual(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "bench.yaml")
	text := "supply: {driver: virtual, highest voltage: 75 V, highest current: 3 A}\ninterlock: {driver: virtual}\n"
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	s := serve(t, "--bench", file)
	_, snapshot := s.get("/api/status")
	assert.Equal(t, true, snapshot["simulated"])
	status, refused := s.post("/api/plan", map[string]any{"profile_yaml": "name: high\nmetal: titanium-grade-5\nbath: bicarbonate\ntarget: 100 V\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend:\n  time: 60 s\n"})
	assert.NotEqual(t, http.StatusOK, status)
	assert.Contains(t, fmt.Sprint(refused), "above the 75 V of this supply")
}

// A daemon plans nothing before it is asked: what a load may be is told with its plan.
func TestServeABenchThatIsTooSmallForTheUsualProfile(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "bench.yaml")
	text := "supply: {driver: virtual, highest voltage: 30 V, highest current: 3 A}\ninterlock: {driver: virtual}\n"
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	s := serve(t, "--bench", file)
	status, refused := s.post("/api/plan", map[string]any{})
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, fmt.Sprint(refused), "above the 30 V of this supply")
	status, offered := s.post("/api/plan", map[string]any{"profile_yaml": "name: low\nmetal: titanium-grade-5\nbath: bicarbonate\ntarget: 20 V\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend:\n  time: 60 s\n"})
	require.Equal(t, http.StatusOK, status, offered)
	assert.InDelta(t, 20, offered["target_volts"], 1e-9)
}
