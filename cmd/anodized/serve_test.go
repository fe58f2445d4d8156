package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

// served is the daemon as a process of its own.
type served struct {
	*child
	url     string
	journal string
}

func serve(t *testing.T, args ...string) served {
	t.Helper()
	s := served{journal: filepath.Join(t.TempDir(), "j.db")}
	s.child = start(t, append([]string{"serve", "--json", "--listen", "127.0.0.1:0", "--journal", s.journal}, args...)...)
	s.announced()
	return s
}

// announced waits until the daemon says where it is.
func (s *served) announced() {
	s.t.Helper()
	require.True(s.t, s.lines.Scan(), "standard error: %s", &s.errors)
	var line serving
	require.NoError(s.t, json.Unmarshal(s.lines.Bytes(), &line))
	s.url = line.URL
}

func (s served) post(path string, body any) (int, map[string]any) {
	s.t.Helper()
	text, err := json.Marshal(body)
	require.NoError(s.t, err)
	answer, err := http.Post(s.url+path, "application/json", bytes.NewReader(text))
	require.NoError(s.t, err)
	return s.read(answer)
}

func (s served) get(path string) (int, map[string]any) {
	s.t.Helper()
	answer, err := http.Get(s.url + path)
	require.NoError(s.t, err)
	return s.read(answer)
}

func (s served) read(answer *http.Response) (int, map[string]any) {
	s.t.Helper()
	defer func() { require.NoError(s.t, answer.Body.Close()) }()
	text, err := io.ReadAll(answer.Body)
	require.NoError(s.t, err)
	var value map[string]any
	if strings.HasPrefix(answer.Header.Get("Content-Type"), "application/json") {
		require.NoError(s.t, json.Unmarshal(text, &value), string(text))
	}
	return answer.StatusCode, value
}

// follow reads the event stream in the background and gives what comes.
func (s served) follow() <-chan map[string]any {
	s.t.Helper()
	answer, err := http.Get(s.url + "/api/events")
	require.NoError(s.t, err)
	s.t.Cleanup(func() { assert.NoError(s.t, answer.Body.Close()) })
	out := make(chan map[string]any, 10000)
	go func() {
		defer close(out)
		lines := bufio.NewScanner(answer.Body)
		lines.Buffer(nil, 1<<20)
		kind := ""
		for lines.Scan() {
			if name, is := strings.CutPrefix(lines.Text(), "event: "); is {
				kind = name
			}
			if data, is := strings.CutPrefix(lines.Text(), "data: "); is {
				value := map[string]any{}
				if json.Unmarshal([]byte(data), &value) == nil {
					value["kind"] = kind
					out <- value
				}
			}
		}
	}()
	return out
}

func wait(t *testing.T, from <-chan map[string]any, met func(map[string]any) bool) map[string]any {
	t.Helper()
	for one := range from {
		if met(one) {
			return one
		}
	}
	t.Fatal("the stream ended first")
	return nil
}

func isResult(one map[string]any) bool { return one["kind"] == "result" }

func inState(state string) func(map[string]any) bool {
	return func(one map[string]any) bool { return one["kind"] == "snapshot" && one["state"] == state }
}

func (s served) startLoad(t *testing.T) {
	t.Helper()
	status, offered := s.post("/api/plan", map[string]any{})
	require.Equal(t, http.StatusOK, status, offered)
	status, answer := s.post("/api/runs", map[string]any{"plan_id": offered["plan_id"], "operator": "Ida"})
	require.Equal(t, http.StatusAccepted, status, answer)
}

// TestWholeLoadOverTheAPI runs one load from plan to review over the daemon.
func TestWholeLoadOverTheAPI(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "200")
	stream := s.follow()
	wait(t, stream, inState("idle"))
	s.startLoad(t)
	snapshots := 0
	result := wait(t, stream, func(one map[string]any) bool {
		if one["kind"] == "snapshot" {
			snapshots++
			assert.Equal(t, true, one["simulated"])
		}
		return isResult(one)
	})
	assert.Equal(t, "complete", result["outcome"])
	assert.Greater(t, snapshots, 1)
	for path, field := range map[string]string{"/api/runs/1": "intent", "/api/runs/last/review": "verdict", "/api/runs/1/curve": "volts", "/api/load": "forecast", "/api/runs": "runs"} {
		status, answer := s.get(path)
		assert.Equal(t, http.StatusOK, status, path)
		assert.Contains(t, answer, field, path)
	}
	for _, path := range []string{"/api/runs/1/curve.csv", "/api/runs/1/curve.svg", "/metrics", "/", "/healthz", "/readyz"} {
		status, _ := s.get(path)
		assert.Equal(t, http.StatusOK, status, path)
	}
	require.NoError(t, s.command.Process.Signal(syscall.SIGTERM))
	assert.Equal(t, statusDone, s.end(), &s.errors)
	kept := recorded(t, s.journal, "1")
	assert.Equal(t, record.Complete, kept.Result.Outcome)
	assert.Equal(t, "Ida", kept.Intent.Operator)
}

func TestTermStopsTheLoadOfTheDaemon(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "20")
	stream := s.follow()
	s.startLoad(t)
	wait(t, stream, inState("ramping"))
	require.NoError(t, s.command.Process.Signal(syscall.SIGTERM))
	assert.Equal(t, statusDone, s.end(), &s.errors)
	kept := recorded(t, s.journal, "1")
	assert.Equal(t, record.Stopped, kept.Result.Outcome)
	assert.Equal(t, []string{"SIGTERM"}, kept.Result.Reasons)
}

// client runs a client command against the daemon.
func (s served) client(args ...string) (status int, out string, messages string) {
	var printed, said bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: &printed, stderr: &said, getenv: os.Getenv}
	return run(s.t.Context(), e, append(args, "--url", s.url)), printed.String(), said.String()
}

func TestClientsStopAnswerAndAcknowledge(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "20", "--fault", "contact-lost@start,part=1", "--fault", "contact-lost@start,part=2",
		"--fault", "contact-lost@start,part=3", "--fault", "contact-lost@start,part=4")
	status, out, _ := s.client("status")
	assert.Equal(t, statusDone, status)
	assert.Contains(t, out, "SIMULATED")
	status, _, messages := s.client("answer", "go-on")
	assert.Equal(t, statusCannot, status)
	assert.Contains(t, messages, "no question is open")
	status, _, _ = s.client("acknowledge", "--who", "Ida")
	assert.Equal(t, statusCannot, status)
	status, _, _ = s.client("answer", "perhaps")
	assert.Equal(t, statusBadInput, status)

	stream := s.follow()
	s.startLoad(t)
	asked := wait(t, stream, func(one map[string]any) bool { return one["kind"] == "snapshot" && one["question"] != nil })
	assert.NotNil(t, asked["question"].(map[string]any)["seconds_left"])
	status, out, _ = s.client("answer", "go-on", "--json")
	assert.Equal(t, statusDone, status)
	assert.Contains(t, out, `"taken":true`)
	wait(t, stream, inState("ramping"))
	status, out, _ = s.client("stop", "--json")
	assert.Equal(t, statusDone, status)
	assert.JSONEq(t, `{"stopping":true,"output":"off"}`, out)
	assert.Equal(t, "stopped", wait(t, stream, isResult)["outcome"])
}

func TestGoodByEyeIsAnsweredFromATerminal(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "20")
	stream := s.follow()
	s.startLoad(t)
	wait(t, stream, inState("ramping"))
	status, _ := s.post("/api/stop", map[string]any{"why": "the page", "ask_by_eye": true})
	require.Equal(t, http.StatusOK, status)
	wait(t, stream, func(one map[string]any) bool { return one["kind"] == "snapshot" && one["question"] != nil })
	code, out, _ := s.client("status")
	assert.Equal(t, statusDone, code)
	assert.Contains(t, out, "anodized answer yes, or no")
	code, _, messages := s.client("answer", "go-on")
	assert.Equal(t, statusCannot, code)
	assert.Contains(t, messages, "another question is open")
	code, _, _ = s.client("answer", "yes")
	assert.Equal(t, statusDone, code)
	result := wait(t, stream, isResult)
	assert.Equal(t, "stopped", result["outcome"])
	assert.Equal(t, true, result["by_eye"])
	for _, one := range result["findings"].([]any) {
		assert.NotEqual(t, "under-formed", one.(map[string]any)["code"])
	}
	code, review := s.get("/api/runs/last/review")
	assert.Equal(t, http.StatusOK, code)
	for _, one := range review["findings"].([]any) {
		assert.NotEqual(t, "under-formed", one.(map[string]any)["code"], "the review says the same")
	}
}

func TestTripIsAcknowledgedOnlyOnceTheLidWasOpened(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "50", "--fault", "contact-lost@30V")
	stream := s.follow()
	s.startLoad(t)
	assert.Equal(t, "tripped", wait(t, stream, isResult)["outcome"])
	status, _, messages := s.client("acknowledge", "--who", "Ida")
	assert.Equal(t, statusNotRight, status)
	// where this machine stands still the person has been at the lid before the reason is told
	assert.Regexp(t, "not cleared: (the lid was not seen open and then closed since the last load|ask again: what was in the way is gone by now)", messages)
	_, offered := s.post("/api/plan", map[string]any{})
	code, answer := s.post("/api/runs", map[string]any{"plan_id": offered["plan_id"]})
	assert.Equal(t, http.StatusConflict, code, answer)

	wait(t, stream, func(one map[string]any) bool { // the acknowledgement has called the person of the embedded bench
		lid, is := one["interlock"].(map[string]any)
		return is && lid["closed"] == true && lid["closed_for_s"].(float64) < 20
	})
	status, _, messages = s.client("acknowledge", "--who", "Ida")
	assert.Equal(t, statusDone, status, messages)
	s.startLoad(t)
	assert.Equal(t, "complete", wait(t, stream, isResult)["outcome"])
}

// TestStartsAndStopsAtOnce asks a daemon from fifty sides: whatever order they come in,
// at most one load is made, and after the last stop nothing is on.
func TestStartsAndStopsAtOnce(t *testing.T) {
	t.Parallel()
	s := serve(t)
	ids := make([]any, 50)
	for i := range ids {
		_, offered := s.post("/api/plan", map[string]any{})
		ids[i] = offered["plan_id"]
	}
	stream := s.follow()
	var all sync.WaitGroup
	codes := make(chan [2]int, len(ids))
	for _, id := range ids {
		all.Go(func() {
			started, _ := s.post("/api/runs", map[string]any{"plan_id": id})
			stopped, _ := s.post("/api/stop", map[string]any{})
			codes <- [2]int{started, stopped}
		})
	}
	all.Wait()
	close(codes)
	for code := range codes {
		assert.Contains(t, []int{http.StatusAccepted, http.StatusConflict}, code[0])
		assert.Equal(t, http.StatusOK, code[1])
	}
	now := wait(t, stream, func(one map[string]any) bool {
		return one["kind"] == "snapshot" && one["state"] != "checking" && one["supply"].(map[string]any)["output"] == "off"
	})
	assert.NotContains(t, []string{"ramping", "holding", "contact-check"}, now["state"])
}

func TestSecondDaemonIsRefused(t *testing.T) {
	t.Parallel()
	s := serve(t)
	var wait sync.WaitGroup
	for _, args := range [][]string{
		{"serve", "--listen", strings.TrimPrefix(s.url, "http://"), "--journal", filepath.Join(t.TempDir(), "other.db")},
		{"serve", "--listen", "127.0.0.1:0", "--journal", s.journal},
		{"status", "--listen", "127.0.0.1:1"},
	} {
		wait.Go(func() {
			e := env{stdin: strings.NewReader(""), stdout: io.Discard, stderr: io.Discard, getenv: os.Getenv}
			assert.Equal(t, statusCannot, run(t.Context(), e, args), args)
		})
	}
	wait.Wait()
}

func TestServeRefusesBadInput(t *testing.T) {
	for _, args := range [][]string{
		{"--listen", "0.0.0.0:7070"}, {"--listen", "here"}, {"--speed", "0"}, {"--speed", "5000"}, {"--bench", "absent.yaml"},
		{"--bench", "bench.yaml", "--speed", "2"}, {"--fault", "nonsense"}, {"--rack", "absent"}, {"more"},
	} {
		var out bytes.Buffer
		e := env{stdin: strings.NewReader(""), stdout: &out, stderr: io.Discard, getenv: os.Getenv}
		journal := filepath.Join(t.TempDir(), "j.db")
		assert.Equal(t, statusBadInput, run(t.Context(), e, append([]string{"serve", "--journal", journal}, args...)), args)
		assert.NoFileExists(t, journal)
		assert.Empty(t, out.String())
	}
}

func TestPlansOverTheAPIReadNoFile(t *testing.T) {
	t.Parallel()
	s := serve(t)
	secret := filepath.Join(t.TempDir(), "secret.yaml")
	require.NoError(t, os.WriteFile(secret, []byte("pass: zebra"), 0o600))
	profile := "name: x\nmetal: " + secret + "\nbath: bicarbonate\ntarget: 20 V\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend:\n  time: 60 s\n"
	for _, wanted := range []map[string]any{
		{"profile": secret}, {"profile": "-"}, {"profile": "../profiles"}, {"rack": secret}, {"metal": secret}, {"bath": secret},
		{"calibration": secret}, {"from": secret}, {"from": "1"}, {"profile_yaml": profile}, {"profile_yaml": "name: [", "profile": "x"},
		{"rack_yaml": "name: other\nparts:\n  - name: a\n    count: 1\n    area: 5 cm2\n"},
	} {
		status, answer := s.post("/api/plan", wanted)
		assert.Equal(t, http.StatusBadRequest, status, "%v: %v", wanted, answer)
		assert.NotContains(t, answer["error"], "zebra")
	}
	status, answer := s.post("/api/plan", map[string]any{"profile_yaml": strings.Replace(profile, secret, "titanium-grade-5", 1)})
	assert.Equal(t, http.StatusOK, status, answer)
}

// A stage of a job, and the bath as it was read, are planned over the API as plan does.
func TestPlansOverTheAPIOfAStageAndAWarmBath(t *testing.T) {
	t.Parallel()
	path := shelfOf(t, shopLadder("ladder", 3, true))
	s := serve(t, "--journal", path, "--rack", "one headset spacer")
	text, err := os.ReadFile(strip)
	require.NoError(t, err)
	for stage, volts := range map[int]float64{0: 90, 1: 90, 8: 20} {
		status, offered := s.post("/api/plan", map[string]any{"profile_yaml": string(text), "stage": stage})
		require.Equal(t, http.StatusOK, status, offered)
		assert.InDelta(t, volts, offered["target_volts"], 1e-9)
		assert.EqualValues(t, max(stage, 1), offered["job"].(map[string]any)["stage"])
	}
	film := func(wanted map[string]any) float64 {
		status, offered := s.post("/api/plan", wanted)
		require.Equal(t, http.StatusOK, status, offered)
		return offered["expected"].(map[string]any)["thickness_nm"].(float64)
	}
	cool := film(map[string]any{})
	assert.InDelta(t, 1+(cool-1)*(1+0.0034*4), film(map[string]any{"bath_celsius": 24}), 1e-6)
	for want, wanted := range map[string]map[string]any{
		"has stages 1 to 8":       {"profile_yaml": string(text), "stage": 9},
		"has stages 1 to 1":       {"stage": 2},
		"above 0 °C, to 60 °C":    {"bath_celsius": 75},
		"leave out all else":      {"from": "1", "stage": 1},
		"bath_celsius is -4 °C":   {"bath_celsius": -4},
		`unknown field "celsius"`: {"celsius": 24},
	} {
		status, answer := s.post("/api/plan", wanted)
		assert.Equal(t, http.StatusBadRequest, status, want)
		assert.Contains(t, fmt.Sprint(answer["error"]), want)
	}
}
