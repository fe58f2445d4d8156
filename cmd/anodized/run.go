package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/report"
	"anodized/hal/virtual"
)

func init() { commands = append(commands, newRunCommand) }

// tickPeriod is the period of the control loop.
const tickPeriod = 100 * time.Millisecond

// leastSpeed is how many times real time a simulated clock runs at least: slower than
// that, nobody sees whether it still runs.
const leastSpeed = 0.1

type runFlags struct {
	planFlags
	from                          repeatFlags
	journal, operator, note, plot string
	speed                         float64
	seed                          uint64
	faults                        []string
	byEye, json, verbose          bool
	speedGiven, seedGiven         bool
	each                          func(record.Result) // told how a load ended; nil tells nobody
}

func newRunCommand(e env) *cobra.Command {
	var f runFlags
	command := &cobra.Command{
		Use:   "run",
		Short: "do one load, attended from this terminal",
		Long: "Does one load. It waits, at most three minutes, until the lid was seen open and then\n" +
			"closed, and only then energises. Without --bench the load runs on the embedded virtual\n" +
			"bench: simulated time, as fast as it goes, and everything it says is SIMULATED.\n\n" +
			"Ctrl-C, SIGTERM and SIGHUP stop: output off, record kept. A second Ctrl-C: off blind,\n" +
			"then exit. Exit status: 0 complete, or stopped --by-eye; 1 any other end; 2 bad input;\n" +
			"3 refused, or the bench or the journal cannot be used.",
		Example: `  anodized run
  anodized run --profile "second-order purple" --rack my-rack.yaml --bench bench.yaml --operator Ida
  anodized run --json --seed 7 --fault contact-lost@35V`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			f.speedGiven, f.seedGiven = command.Flags().Changed("speed"), command.Flags().Changed("seed")
			return runLoad(command.Context(), e, f)
		},
	}
	f.registerAll(command)
	return command
}

func (f *runFlags) registerAll(command *cobra.Command) {
	flags := command.Flags()
	f.register(flags)
	f.from.register(flags)
	flags.Lookup("bench").Usage = "bench file; without it the embedded virtual bench"
	flags.StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	flags.StringVar(&f.operator, "operator", "", "who runs the load, for the record")
	flags.StringVar(&f.note, "note", "", "a note for the record")
	flags.StringVar(&f.plot, "plot", "", "draw the load into FILE.svg or FILE.png when it has ended")
	flags.Float64Var(&f.speed, "speed", 0, "embedded bench: so many times real time, from 0.1; 0 as fast as it goes")
	flags.Uint64Var(&f.seed, "seed", 1, "embedded bench: the same seed gives the same run")
	flags.StringArrayVar(&f.faults, "fault", nil, "embedded bench: a fault at a moment, such as contact-lost@35V; may be repeated")
	flags.BoolVar(&f.byEye, "by-eye", false, "a stop from this terminal is by eye, which is a good end")
	flags.BoolVar(&f.json, "json", false, "print events as JSON Lines, the result last")
	flags.BoolVar(&f.verbose, "verbose", false, "log to standard error what the station does")
}

// job is a load that is ready: everything that a person could have got wrong has
// been looked at, and nothing has been energised or written.
type job struct {
	flags   runFlags
	request plan.Request
	frozen  frozen
	plan    plan.Plan
	faults  []virtual.Fault
	path    string // of the journal

	personWaits bool // the person of the embedded bench hangs no rack before being called
}

func prepare(e env, f runFlags) (job, error) {
	j := job{flags: f}
	if err := j.checkFlags(e); err != nil {
		return j, badInput(err)
	}
	var err error
	if j.path, err = journalPath(e, f.journal); err != nil {
		return j, err
	}
	if err := journal.Answers(j.path); err != nil {
		return j, cannot(err)
	}
	f.shelf = shelf(j.path)
	from := f.from
	from.journal = f.journal
	if j.request, j.frozen, err = assembleOr(e, f.planFlags, from); err != nil {
		return j, err
	}
	if err := j.checkEmbedded(); err != nil {
		return j, badInput(err)
	}
	return j, j.build()
}

// checkEmbedded refuses what only the embedded bench has, where another is named.
func (j *job) checkEmbedded() error {
	f := j.flags
	switch {
	case j.frozen.Bench == nil:
	case f.speedGiven:
		return errors.New("--speed is for the embedded bench: a bench that is reached by an address runs in real time")
	case len(f.faults) > 0:
		return errors.New("--fault is for the embedded bench: give it to virtual-bench where that is the bench")
	case f.seedGiven:
		return errors.New("--seed is for the embedded bench: give it to virtual-bench where that is the bench")
	}
	return nil
}

func (j *job) checkFlags(e env) (err error) {
	f := j.flags
	if f.speed != 0 && !(f.speed >= leastSpeed && f.speed <= 1e6) {
		return fmt.Errorf("--speed %v: from %v to 1000000 times real time, or 0 for as fast as it goes", f.speed, leastSpeed)
	}
	if err := errors.Join(nameFlag("operator", f.operator), plainFlag("note", f.note)); err != nil {
		return err
	}
	if j.faults, err = parseFaults(f.faults); err != nil || f.plot == "" {
		return err
	}
	_, err = report.FormatOf(f.plot)
	return err
}

func (j *job) build() (err error) {
	j.plan, err = withHistory(j.path, j.request)
	return err
}

// runLoad does one load and says how it ended.
func runLoad(ctx context.Context, e env, f runFlags) error {
	j, err := prepare(e, f)
	if err != nil {
		return j.neverBegan(e, err)
	}
	if err := j.tellBefore(e); err != nil {
		return err
	}
	since, err := j.frozen.changed(j.plan, shelf(j.path))
	if err != nil {
		return j.neverBegan(e, cannot(err))
	}
	since.tell(e)
	b, err := j.standIn(ctx, j.log(e))
	if err != nil {
		return j.neverBegan(e, err)
	}
	kept, err := journal.Open(j.path, journal.Options{})
	if err != nil {
		return j.neverBegan(e, cannot(errors.Join(fmt.Errorf("open the journal: %w", err), b.close())))
	}
	j.tellStatus(e, kept.Status())
	result, err := j.do(ctx, e, b, kept)
	if errors.Is(err, errNotBegun) {
		return j.neverBegan(e, cannot(unlessSaid(unlessSaid(err, b.close()), kept.Close())))
	}
	err = unlessSaid(err, b.close())
	if err == nil {
		err = errors.Join(j.draw(e, kept, result), j.tellNext(e, result), j.tellReading(e, result))
	}
	return ended(e, result, errors.Join(err, kept.Close()))
}

// neverBegan ends the JSON Lines of a load that was refused before a station took it. Bad
// input is no load, and prints nothing.
func (j *job) neverBegan(e env, err error) error {
	if !j.flags.json || exitStatus(io.Discard, err) == statusBadInput {
		return err
	}
	refused := record.Result{Event: controller.KindResult, Outcome: record.Refused, Reasons: []string{err.Error()}, Output: "unknown",
		Simulated: j.frozen.Bench == nil || j.request.Simulated, Findings: []fault.Finding{}}
	if j.plan.ID != "" {
		refused.TargetVolts, refused.DeclaredArea = record.Known(j.plan.TargetVolts), record.Known(j.plan.Area)
	}
	return errors.Join(err, printJSON(e.stdout, refused))
}

// ended is the exit status of a load after which something may have gone wrong
// with the bench or the journal: the end of the load comes first, the rest is said.
func ended(e env, result record.Result, err error) error {
	status := error(nil)
	if result.Outcome != "" {
		status = statusOf(result)
	}
	switch {
	case err == nil:
		return status
	case status == nil:
		return cannot(err)
	}
	_, say := fmt.Fprintln(e.stderr, "anodized:", err)
	return errors.Join(status, say)
}

// log is quiet unless asked: what a person must know comes as events.
func (j *job) log(e env) *slog.Logger {
	level := slog.LevelError
	if j.flags.verbose {
		level = slog.LevelDebug
	}
	return slog.New(slog.NewTextHandler(e.stderr, &slog.HandlerOptions{Level: level}))
}

func (j *job) tellStatus(e env, found journal.Status) {
	if found.Migrated.Backup != "" {
		fmt.Fprintf(e.stderr, "anodized: the journal was brought from version %d to %d; as it was it stands as %s\n", found.Migrated.From, found.Migrated.To, found.Migrated.Backup)
	}
	if found.SetAside != "" {
		fmt.Fprintf(e.stderr, "anodized: the journal was damaged (%s): it was set aside as %s and a new one begun\n", found.Why, found.SetAside)
	}
	if found.Waiting != "" {
		fmt.Fprintf(e.stderr, "anodized: no load begins until a person acknowledges the journal that was set aside: %s: anodized journal acknowledge --name YOUR-NAME\n", found.Waiting)
	}
	for _, run := range found.Closed {
		fmt.Fprintf(e.stderr, "anodized: run %s was cut off: its record is closed as interrupted\n", run)
	}
	for _, run := range found.Unreadable {
		fmt.Fprintf(e.stderr, "anodized: run %s was cut off and cannot be read\n", run)
	}
}

// statusOf is the exit status of an outcome. The result line has said the rest.
func statusOf(res record.Result) error {
	switch {
	case res.Outcome == record.Complete, res.Outcome == record.Stopped && res.ByEye:
		return nil
	case res.Outcome == record.Refused:
		return cannot(errQuiet)
	}
	return notRight(errQuiet)
}

// do runs the Station for one load.
func (j *job) do(ctx context.Context, e env, b bench, kept *journal.Journal) (record.Result, error) {
	var station *controller.Station
	if b.clockWaits && e.terminal && !j.flags.json {
		b.pacer = &held{b.pacer, func() bool { return station.Snapshot().Question != nil }}
	}
	board := newBoard(e, b.clockWaits)
	station = controller.New(b.devices, b.pacer, kept, j.log(e), controller.Options{
		Tick: tickPeriod, Version: softwareVersion(), ClockWaits: b.clockWaits, BuildYear: buildYear(), UnderVoltage: board.underVoltage,
	})
	events, leave := station.Subscribe(100_000)
	defer leave()
	stationContext, shutDown := context.WithCancel(context.WithoutCancel(ctx))
	defer shutDown()
	go board.watch(stationContext)
	ended := make(chan error, 1)
	if err := station.Start(j.order()); err != nil {
		return record.Result{}, err
	}
	go func() { ended <- station.Run(stationContext) }()
	result, err := j.attend(ctx, e, attended{station, events, b, shutDown})
	shutDown()
	if j.flags.each != nil {
		j.flags.each(result)
	}
	return result, notBegun(err, <-ended)
}

func (j *job) order() controller.Request {
	return controller.Request{
		Plan: j.plan, Profile: j.frozen.Profile, Rack: j.frozen.Rack, Metal: j.frozen.Metal, Bath: j.frozen.Bath,
		Calibration: j.frozen.Calibration, Operator: j.flags.operator, Note: j.flags.note, StepUp: j.frozen.StepUp, AfterStrip: j.frozen.AfterStrip, Seed: j.flags.seed,
	}
}
