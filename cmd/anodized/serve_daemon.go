package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"syscall"
	"time"

	"anodized/controller"
	"anodized/controller/journal"
	"anodized/controller/metrics"
	"anodized/controller/record"
	"anodized/controller/report"
	"anodized/controller/web"
)

// daemon is a bench that is served.
type daemon struct {
	env      env
	flags    serveFlags
	log      *slog.Logger
	job      job // what hangs in the embedded bench, and where the journal is
	bench    bench
	station  *controller.Station
	offAtEnd bool   // the output is confirmed off: an end that is not clean leaves the board's watchdog armed
	nextRack func() // calls the person of the embedded bench; nil for another
}

// The waits of an end.
const (
	stopWait   = 3 * time.Second // for a load that is stopped to be on record
	firstTick  = 50 * time.Millisecond
	signalRoom = 4
)

// serve runs the Station and its windows until it is told to end.
func (d *daemon) serve(ctx context.Context, kept *journal.Journal, listener net.Listener) error {
	signals := make(chan os.Signal, signalRoom)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer signal.Stop(signals)
	dog := newServiceDog(d.env.getenv, d.log)
	board, err := d.armBoard()
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	d.offAtEnd = true // nothing was energised yet
	err = d.serveWith(ctx, kept, listener, signals, dog, beats(dog, board))
	if board != nil {
		err = errors.Join(err, board.Close(d.offAtEnd))
	}
	return err
}

// serveWith serves with every watchdog in place.
func (d *daemon) serveWith(ctx context.Context, kept *journal.Journal, listener net.Listener, signals chan os.Signal, dog *serviceDog, beat func()) error {
	board := newBoard(d.env, d.bench.clockWaits)
	d.station = controller.New(d.bench.devices, d.patient(), kept, d.log, controller.Options{
		Tick: tickPeriod, Version: softwareVersion(), ClockWaits: d.bench.clockWaits, Beat: beat, BuildYear: buildYear(), UnderVoltage: board.underVoltage,
	})
	said := newNotices(d.job.path, board.underVoltage)
	server, err := d.windows(kept, said)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	apart := context.WithoutCancel(ctx)
	stationContext, endStation := context.WithCancel(apart)
	windowContext, endWindows := context.WithCancel(apart)
	defer endStation()
	defer endWindows()
	stationEnded, served := make(chan error, 1), make(chan error, 1)
	go func() { stationEnded <- d.station.Run(stationContext) }()
	go server.Run(windowContext)
	go board.watch(windowContext)
	go said.watch(windowContext)
	go func() { served <- server.Serve(windowContext, listener) }()
	go dog.ready(windowContext, func() bool { return d.station.Snapshot().Tick > 0 })
	if err := d.announce(listener); err != nil {
		endStation()
		endWindows()
		last := <-stationEnded
		d.offAtEnd = last == nil
		return errors.Join(err, last, <-served)
	}
	return d.until(ctx, ends{signals, stationEnded, served, endStation, endWindows, dog})
}

// ends are the ways in which serving may end, and what ends its two halves.
type ends struct {
	signals              <-chan os.Signal
	station, windows     chan error
	endStation, endViews context.CancelFunc
	dog                  *serviceDog
}

// until waits for the first end, and brings about the rest: the load, the Station,
// the windows, in that order.
func (d *daemon) until(ctx context.Context, e ends) error {
	var failure error
	byItself := false
	select {
	case what := <-e.signals:
		d.endLoad(signalWord(what), e.signals)
	case <-ctx.Done():
		d.endLoad("the command was cancelled", e.signals)
	case failure = <-e.windows:
		d.endLoad("the page and the API are gone", e.signals)
		e.windows <- nil
	case failure = <-e.station:
		failure, byItself = errors.Join(errors.New("the station has ended by itself"), failure), true
		e.station <- nil
	}
	e.dog.stopping()
	e.endStation()
	last := <-e.station
	d.offAtEnd = last == nil && !byItself
	failure = errors.Join(failure, last)
	e.endViews()
	return errors.Join(failure, <-e.windows)
}

// endLoad stops what runs and gives its record a moment. A second signal ends the
// wait: the end of the Station switches off again anyway.
func (d *daemon) endLoad(why string, signals <-chan os.Signal) {
	d.log.Info("the daemon ends", "why", why)
	events, leave := d.station.Subscribe(signalRoom)
	defer leave()
	d.station.Stop(false, why)
	if !underWay(d.station.Snapshot().State) {
		return
	}
	limit := time.NewTimer(stopWait)
	defer limit.Stop()
	for {
		select {
		case ev, open := <-events:
			if !open || ev.Kind == controller.KindResult {
				return
			}
		case <-signals:
			return
		case <-limit.C:
			return
		}
	}
}

func underWay(state string) bool {
	switch state {
	case "checking", "contact-check", "ramping", "holding", "discharging":
		return true
	}
	return false
}

// patient keeps a simulated clock from running away while a person is asked something.
func (d *daemon) patient() controller.Pacer {
	if !d.bench.clockWaits || d.flags.speed <= 1 {
		return d.bench.pacer
	}
	return &held{d.bench.pacer, func() bool { return d.station.Snapshot().Question != nil }}
}

// windows are the page and the API over the Station.
func (d *daemon) windows(kept *journal.Journal, said *notices) (*web.Server, error) {
	return web.New(web.Options{
		Station: d.served(), History: kept, Plan: d.plan, CSV: writeRunCurve, SVG: d.drawRun, Surface: surfaceOf,
		Calibration: d.job.frozen.Calibration, Version: softwareVersion(), Hosts: d.hosts(), Persons: d.flags.persons, Log: d.log, Notices: said.last,
		Journal: func() metrics.Journal {
			health := kept.Health()
			return metrics.Journal{QueueRows: health.QueueRows, Rows: uint64(max(0, health.Written)), WriteSeconds: health.LastWriteSeconds}
		},
	})
}

func writeRunCurve(w io.Writer, run record.Run) error {
	rows := curveRows(run.Rows)
	return writeCurve(w, rows, columnsOf(run, rows))
}

func (d *daemon) drawRun(w io.Writer, run record.Run) error {
	_, kept, err := runWithReadings(d.env, d.job.path, run.ID)
	if err != nil {
		return err
	}
	load, err := reviewedWith(d.env, d.job.path, run, kept).picture()
	if err != nil {
		return err
	}
	return report.LoadPlot(w, report.SVG, load)
}

// serving is what the daemon prints once it can be reached.
type serving struct {
	URL       string `json:"url"`
	Simulated bool   `json:"simulated"`
	Supply    string `json:"supply"`
	Journal   string `json:"journal"`
}

func (d *daemon) announce(listener net.Listener) error {
	id := d.bench.devices.Identity
	line := serving{URL: d.scheme() + "://" + listener.Addr().String(), Simulated: d.bench.devices.Simulated,
		Supply: fmt.Sprintf("%s,%s,%s,%s", id.Maker, id.Model, id.Serial, id.Firmware), Journal: d.job.path}
	if d.flags.json {
		return printJSON(d.env.stdout, line)
	}
	_, err := fmt.Fprintf(d.env.stdout, "%sserving %s\n", simulatedWord(line.Simulated), line.URL)
	return err
}
