package main

import (
	"bufio"
	"context"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"anodized/controller"
	"anodized/controller/record"
)

// attended is a Station at work and what attending it needs.
type attended struct {
	station  *controller.Station
	events   <-chan controller.Event
	bench    bench
	shutDown context.CancelFunc // off blind, then the end of the Station
}

// pictureEvery is how often a live picture is drawn again.
const pictureEvery = 200 * time.Millisecond

// attend follows the load until its result, shows it, and passes on what the
// person wants: the first signal stops, a second Ctrl-C switches off blind.
func (j *job) attend(ctx context.Context, e env, a attended) (record.Result, error) {
	signals := make(chan os.Signal, 4)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer signal.Stop(signals)
	shown, err := j.window(e, a)
	if err != nil {
		return record.Result{}, err
	}
	redraw := time.NewTicker(pictureEvery)
	defer redraw.Stop()
	answers := j.answers(e)
	stopped := false
	for {
		select {
		case ev, open := <-a.events:
			if !open {
				return record.Result{}, errNotBegun
			}
			if err := shown.event(ev); err != nil {
				a.station.Stop(false, "the output of this command is gone")
				return record.Result{}, err
			}
			if ev.Kind == controller.KindResult {
				return *ev.Result, nil
			}
		case <-redraw.C:
			shown.redraw()
		case goOn := <-answers:
			shown.answered(a.station.Answer(goOn))
		case what := <-signals:
			j.signalled(a, what, stopped)
			stopped = true
		case <-ctx.Done():
			a.station.Stop(j.flags.byEye, "the command was cancelled")
			ctx = context.WithoutCancel(ctx)
		}
	}
}

func (j *job) signalled(a attended, what os.Signal, stopped bool) {
	if stopped && what == os.Interrupt {
		a.shutDown()
		return
	}
	a.station.Stop(j.flags.byEye, signalWord(what))
}

func signalWord(what os.Signal) string {
	switch what {
	case os.Interrupt:
		return "Ctrl-C"
	case syscall.SIGTERM:
		return "SIGTERM"
	case syscall.SIGHUP:
		return "SIGHUP: the terminal is gone"
	}
	return what.String()
}

// answers reads y or n from standard input, a line each. Where standard input was
// read as a file, or ends, nobody answers.
func (j *job) answers(e env) <-chan bool {
	if e.stdin == nil || j.flags.profile == "-" || j.flags.rack == "-" {
		return nil
	}
	answers := make(chan bool)
	go func() {
		lines := bufio.NewScanner(e.stdin)
		for lines.Scan() {
			switch strings.ToLower(strings.TrimSpace(lines.Text())) {
			case "y", "yes", "g":
				answers <- true
			case "n", "no":
				answers <- false
			}
		}
	}()
	return answers
}
