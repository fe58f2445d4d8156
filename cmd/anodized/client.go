package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"anodized/controller/record"
	"anodized/controller/web"
)

// clientFlags say where the daemon is.
type clientFlags struct {
	listen, url, tokenFile string
	json                   bool
}

func (f *clientFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&f.listen, "listen", usualListen, "address at which the daemon of this machine listens")
	flags.StringVar(&f.url, "url", "", "the daemon's address as a URL, in place of --listen")
	flags.StringVar(&f.tokenFile, "token-file", "", "file with the token, where the daemon asks for credentials; a stop needs none")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
}

// client talks to the daemon.
type client struct {
	base      string
	wrong     error // of the address
	tokenFile string
	http      http.Client
}

const (
	clientWait = 5 * time.Second
	mostAnswer = 4 << 20
)

func (f clientFlags) client() client {
	base := f.url
	if base == "" {
		base = "http://" + f.listen
	}
	return client{strings.TrimSuffix(base, "/"), f.check(), f.tokenFile, http.Client{Timeout: clientWait}}
}

// check keeps a mistyped address from being looked for in the network.
func (f clientFlags) check() error {
	if f.url == "" {
		if err := web.CheckPort(f.listen); err != nil {
			return fmt.Errorf("--listen %q: %w: write it like 127.0.0.1:7070", f.listen, err)
		}
		return nil
	}
	if at, err := url.Parse(f.url); err != nil || at.Host == "" || at.Scheme != "http" && at.Scheme != "https" {
		return fmt.Errorf("--url %q is no address of a daemon: write it like https://bench.example:7070", f.url)
	}
	return nil
}

// errRefused is what the daemon answered with when it would not.
var errRefused = errors.New("the daemon refused")

// get reads what the daemon says at a path.
func (c client) get(ctx context.Context, path string, into any) error {
	return c.ask(ctx, http.MethodGet, path, nil, into)
}

// post tells the daemon something.
func (c client) post(ctx context.Context, path string, body, into any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return cannot(fmt.Errorf("write the request: %w", err))
	}
	return c.ask(ctx, http.MethodPost, path, text, into)
}

func (c client) ask(ctx context.Context, method, path string, body []byte, into any) (err error) {
	if c.wrong != nil {
		return badInput(c.wrong)
	}
	request, err := http.NewRequestWithContext(ctx, method, c.base+path, bytes.NewReader(body))
	if err != nil {
		return badInput(fmt.Errorf("the daemon's address: %w", err))
	}
	if body != nil {
		request.Header.Set("Content-Type", "application/json")
	}
	if c.tokenFile != "" {
		token, err := readToken(c.tokenFile)
		if err != nil {
			return badInput(fmt.Errorf("--token-file: %w", err))
		}
		request.Header.Set("Authorization", "Bearer "+token)
	}
	answer, err := c.http.Do(request)
	if err != nil {
		return cannot(fmt.Errorf("the daemon does not answer: %w: is anodized serve running?", err))
	}
	defer func() { err = errors.Join(err, answer.Body.Close()) }()
	text, err := io.ReadAll(io.LimitReader(answer.Body, mostAnswer))
	if err != nil {
		return cannot(fmt.Errorf("the answer of the daemon was cut off: %w", err))
	}
	if answer.StatusCode >= http.StatusBadRequest {
		return refusal(answer.Status, text)
	}
	if err := json.Unmarshal(text, into); err != nil {
		return cannot(fmt.Errorf("%s is not the daemon of a bench: %w", c.base, err))
	}
	return nil
}

func refusal(status string, text []byte) error {
	var problem web.Problem
	if json.Unmarshal(text, &problem) != nil || problem.Error == "" {
		problem.Error = status
	}
	if problem.Who != "" && problem.When != nil {
		problem.Error += fmt.Sprintf(" (%s, %s)", record.Escaped(problem.Who), problem.When.Local().Format("15:04:05"))
	}
	return cannot(fmt.Errorf("%w: %s", errRefused, problem.Error))
}
