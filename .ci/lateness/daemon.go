package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"
)

// daemon is serve over the virtual bench as a process.
type daemon struct {
	url, folder string
	processes   []*exec.Cmd
}

// tick is what is needed of a snapshot.
type tick struct {
	Tick  uint64 `json:"tick"`
	State string `json:"state"`
	Loop  struct {
		Lateness float64 `json:"lateness_s"`
		Took     float64 `json:"took_s"`
		Overruns uint64  `json:"overruns"`
	} `json:"loop"`
}

func begin(program string) (*daemon, error) {
	folder, err := os.MkdirTemp("", "anodized-lateness")
	if err != nil {
		return nil, err
	}
	d := &daemon{folder: folder}
	file := filepath.Join(folder, "bench.yaml")
	if _, err := d.start(program, "virtual-bench", "--bench-file", file); err != nil {
		return nil, errors.Join(err, d.end())
	}
	line, err := d.start(program, "serve", "--json", "--bench", file, "--listen", "127.0.0.1:0", "--journal", filepath.Join(folder, "j.db"))
	if err != nil {
		return nil, errors.Join(err, d.end())
	}
	d.url = line.URL
	return d, nil
}

// line is what a process says once it can be used.
type line struct {
	URL string `json:"url"`
}

func (d *daemon) start(program string, args ...string) (said line, err error) {
	process := exec.Command(program, args...)
	process.Stderr = os.Stderr
	out, err := process.StdoutPipe()
	if err != nil {
		return said, err
	}
	if err := process.Start(); err != nil {
		return said, err
	}
	d.processes = append(d.processes, process)
	text, err := bufio.NewReader(out).ReadBytes('\n')
	if err != nil {
		return said, fmt.Errorf("%s says nothing: %w", args[0], err)
	}
	return said, json.Unmarshal(text, &said)
}

// end stops what was started, the daemon first.
func (d *daemon) end() error {
	var failures error
	for i := len(d.processes) - 1; i >= 0; i-- {
		failures = errors.Join(failures, d.processes[i].Process.Signal(syscall.SIGTERM), d.processes[i].Wait())
	}
	return errors.Join(failures, os.RemoveAll(d.folder))
}

// load starts one and waits until it ramps.
func (d *daemon) load() error {
	var plan struct {
		ID string `json:"plan_id"`
	}
	if err := d.post("/api/plan", map[string]any{}, &plan); err != nil {
		return err
	}
	ctx, done := context.WithTimeout(context.Background(), 3*time.Minute)
	defer done()
	if err := d.begin(ctx, plan.ID); err != nil {
		return err
	}
	err := d.follow(ctx, func(text []byte) error {
		var now tick
		if err := json.Unmarshal(text, &now); err != nil || now.State != "ramping" {
			return err
		}
		return io.EOF
	})
	if errors.Is(err, io.EOF) {
		return nil
	}
	return fmt.Errorf("the load does not ramp: %w", err)
}

// begin starts a plan once the person of the bench has closed the lid: a start that comes
// before is refused.
func (d *daemon) begin(ctx context.Context, plan string) error {
	again := time.NewTicker(time.Second)
	defer again.Stop()
	for {
		err := d.post("/api/runs", map[string]any{"plan_id": plan}, &struct{}{})
		if err == nil {
			return nil
		}
		select {
		case <-again.C:
		case <-ctx.Done():
			return fmt.Errorf("start the load: %w", err)
		}
	}
}

func (d *daemon) post(path string, body, into any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return err
	}
	answer, err := http.Post(d.url+path, "application/json", bytes.NewReader(text))
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	if answer.StatusCode >= http.StatusBadRequest {
		return fmt.Errorf("POST %s: %s", path, answer.Status)
	}
	return json.NewDecoder(answer.Body).Decode(into)
}

// watch takes the snapshots of a stream for a while.
func (d *daemon) watch(part time.Duration) ([]tick, error) {
	ctx, done := context.WithTimeout(context.Background(), part)
	defer done()
	var ticks []tick
	err := d.follow(ctx, func(text []byte) error {
		var now tick
		if err := json.Unmarshal(text, &now); err != nil {
			return err
		}
		if len(ticks) == 0 || now.Tick > ticks[len(ticks)-1].Tick {
			ticks = append(ticks, now)
		}
		return nil
	})
	if !errors.Is(err, context.DeadlineExceeded) {
		return nil, fmt.Errorf("the stream ended: %w", err)
	}
	if len(ticks) < 2 {
		return nil, errors.New("no ticks were seen")
	}
	return ticks, nil
}

// follow hands on the data of each snapshot until it is told to end.
func (d *daemon) follow(ctx context.Context, got func([]byte) error) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, d.url+"/api/events", nil)
	if err != nil {
		return err
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	lines, snapshot := bufio.NewScanner(answer.Body), false
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if kind, is := bytes.CutPrefix(lines.Bytes(), []byte("event: ")); is {
			snapshot = string(kind) == "snapshot"
		}
		if data, is := bytes.CutPrefix(lines.Bytes(), []byte("data: ")); is && snapshot {
			if err := got(data); err != nil {
				return err
			}
		}
	}
	return errors.Join(ctx.Err(), lines.Err())
}

// metrics is one scrape, read to its end.
func (d *daemon) metrics(ctx context.Context) (status int, err error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, d.url+"/metrics", nil)
	if err != nil {
		return 0, err
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return 0, err
	}
	defer answer.Body.Close()
	_, err = io.Copy(io.Discard, answer.Body)
	return answer.StatusCode, err
}
