package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
)

// bench is a daemon over its embedded virtual bench.
type bench struct {
	url    string
	daemon *exec.Cmd
	err    error // why it could not be started
}

func newBench(program, journal string, flags []string) *bench {
	b := &bench{daemon: exec.Command(program, append([]string{"serve", "--json", "--listen", "127.0.0.1:0", "--journal", journal}, flags...)...)}
	b.daemon.Stderr = os.Stderr
	out, err := b.daemon.StdoutPipe()
	if err == nil {
		err = b.daemon.Start()
	}
	if err != nil {
		b.err = err
		return b
	}
	var said struct {
		URL string `json:"url"`
	}
	line, err := bufio.NewReader(out).ReadBytes('\n')
	if err == nil {
		err = json.Unmarshal(line, &said)
	}
	b.url, b.err = said.URL, err
	return b
}

// kill ends the daemon at once, as a lost machine would.
func (b *bench) kill() error {
	if b.daemon.Process == nil || b.daemon.ProcessState != nil {
		return nil
	}
	if err := b.daemon.Process.Kill(); err != nil {
		return err
	}
	_ = b.daemon.Wait() // it was killed, and says so
	return nil
}

// load starts one over the API: the page does not start loads.
func (b *bench) load() error {
	var plan struct {
		ID string `json:"plan_id"`
	}
	if err := b.ask(http.MethodPost, "/api/plan", map[string]any{}, &plan); err != nil {
		return err
	}
	return b.ask(http.MethodPost, "/api/runs", map[string]any{"plan_id": plan.ID, "operator": "Ida"}, &struct{}{})
}

// result is how the newest load ended, as the record has it.
func (b *bench) result() (outcome string, byEye bool, err error) {
	var run struct {
		Result struct {
			Outcome string `json:"outcome"`
			ByEye   bool   `json:"by_eye"`
		} `json:"result"`
	}
	err = b.ask(http.MethodGet, "/api/runs/last", nil, &run)
	return run.Result.Outcome, run.Result.ByEye, err
}

func (b *bench) ask(method, path string, body, into any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return err
	}
	request, err := http.NewRequest(method, b.url+path, bytes.NewReader(text))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Authorization", "Bearer "+operates)
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err != nil {
		return err
	}
	if answer.StatusCode >= http.StatusBadRequest {
		return fmt.Errorf("%s %s: %s: %s", method, path, answer.Status, said)
	}
	return json.Unmarshal(said, into)
}
