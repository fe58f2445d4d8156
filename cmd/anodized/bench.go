package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/commissioning"
	"anodized/controller/proof"
	"anodized/hal/unit"
	"anodized/profiles"
)

func init() { commands = append(commands, newBenchCommand) }

// benchFlags are what a person asks of the proof.
type benchFlags struct {
	bench   string
	faults  []string
	seed    uint64
	json    bool
	verbose bool
	samples int
	noLid   bool
	noStop  bool

	load      unit.Flag[unit.Ohms]
	loaded    bool // --dummy-load was given
	watts     string
	tolerance string
	meter     string
	meterOff  string
	noMeter   bool
	yes       bool

	setUp   bool
	answers []string
}

func newBenchCommand(e env) *cobra.Command {
	var f benchFlags
	command := &cobra.Command{
		Use:   "bench",
		Short: "read every device of a bench, and prove its limits and its interlock",
		Long: "Opens every device of a bench and shows what each says, how old that is, and how long it takes.\n" +
			"Then it proves, with the output off: that limits stick, that current and volts read zero, that the\n" +
			"lid switch opens and closes (it asks you to lift the lid), the emergency stop, and that the contactor\n" +
			"opens by itself when nobody pulses it. It energises nothing.\n\n" +
			"--dummy-load energises a resistor that you hang on the output, after you have typed your consent,\n" +
			"at three voltages that it stands; it holds the supply's volts and amperes against the resistor and a\n" +
			"second meter, and keeps the result with its date in the bench file. Lid and stop are watched.\n\n" +
			"--set-up asks once what no reading tells (isolation, ripple, what the mains' return does, ...) and keeps\n" +
			"the answers with their date in the bench file. What is not answered narrows what may run unattended.\n\n" +
			"Without --bench it is the embedded virtual bench: SIMULATED, its person moves the lid.\n\n" +
			"Exit status: 0 all is proven; 1 something did not come out, or was not seen; 2 bad input; 3 a device\n" +
			"does not answer, or the bench is in use.",
		Example: `  anodized bench
  anodized bench --bench bench.yaml
  anodized bench --bench bench.yaml --set-up
  anodized bench --bench bench.yaml --set-up --answer "ripple=0.2 V" --answer "bleed resistor=1 kohm; contactor"
  anodized bench --bench bench.yaml --dummy-load "100 ohm" --dummy-load-power "50 W" --meter "bench meter 3"
  anodized bench --dummy-load "100 ohm" --yes`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			f.loaded = command.Flags().Changed("dummy-load")
			return runBench(command.Context(), e, f)
		},
	}
	f.register(command)
	return command
}

func (f *benchFlags) register(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&f.bench, "bench", "", "bench file, or - for standard input; without it the embedded virtual bench")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
	flags.BoolVar(&f.verbose, "verbose", false, "log what the drivers do")
	flags.IntVar(&f.samples, "samples", 100, "how often each device is read, ten times a second")
	flags.BoolVar(&f.noLid, "no-lid", false, "nobody moves the lid: it stays not proven")
	flags.BoolVar(&f.noStop, "no-stop", false, "nobody presses the emergency stop: it stays not proven")
	flags.Var(&f.load, "dummy-load", `energise a resistor on the output, such as "100 ohm"`)
	flags.StringVar(&f.watts, "dummy-load-power", "", `what the resistor may take, such as "50 W"`)
	flags.StringVar(&f.tolerance, "dummy-load-tolerance", "1 %", "of the resistor")
	flags.StringVar(&f.meter, "meter", "", "name of the second meter that you read, such as \"bench meter 3\"")
	flags.StringVar(&f.meterOff, "meter-tolerance", "0.5 %", "that the second meter may be off")
	flags.BoolVar(&f.noMeter, "no-meter", false, "there is no second meter: the resistor alone is the measure")
	flags.BoolVar(&f.yes, "yes", false, "consent to energise, on a SIMULATED bench only")
	flags.BoolVar(&f.setUp, "set-up", false, "ask what no reading tells, and keep the answers in the bench file")
	flags.StringArrayVar(&f.answers, "answer", nil, "with --set-up, in place of asking: QUESTION=ANSWER or QUESTION=ANSWER; HOW; may be repeated")
	flags.StringArrayVar(&f.faults, "fault", nil, "embedded bench: a fault, such as current-offset; may be repeated")
	flags.Uint64Var(&f.seed, "seed", 1, "embedded bench: the same seed gives the same noise")
	command.MarkFlagsMutuallyExclusive("set-up", "dummy-load")
	command.MarkFlagsMutuallyExclusive("meter", "no-meter")
	command.MarkFlagsMutuallyExclusive("bench", "fault")
}

// proofRun is one proof on the command line.
type proofRun struct {
	env     env
	flags   benchFlags
	file    *profiles.Bench      // nil: the embedded bench
	virtual profiles.SupplyEntry // what the supply of the embedded bench gives; zero: the usual
	person  *person
	load    proof.Resistor
	abort   context.Context // done at the second Ctrl-C
}

func runBench(ctx context.Context, e env, f benchFlags) error {
	r := proofRun{env: e, flags: f, person: newPerson(e)}
	if err := r.prepare(); err != nil {
		return badInput(err)
	}
	if f.setUp || len(f.answers) > 0 {
		return r.setUp(ctx)
	}
	ctx, abort, ignore := stoppable(ctx)
	defer ignore()
	r.abort = abort
	report, err := r.prove(ctx)
	if err != nil {
		return err
	}
	if f.loaded {
		if err := r.tryLoad(ctx, &report); err != nil {
			return err
		}
	}
	if err := r.print(report); err != nil {
		return err
	}
	if !report.OK {
		return notRight(errQuiet)
	}
	return nil
}

// prepare looks at everything that a person could have got wrong.
func (r *proofRun) prepare() error {
	f := r.flags
	if f.samples < 10 || f.samples > 10_000 {
		return fmt.Errorf("--samples %d: from 10 to 10000", f.samples)
	}
	if err := plainFlag("meter", f.meter); err != nil {
		return err
	}
	if err := r.readFile(); err != nil {
		return err
	}
	if !f.loaded {
		return nil
	}
	if f.bench == "-" {
		return profiles.ErrNotAFile
	}
	return r.readLoad()
}

func (r *proofRun) readFile() error {
	if r.flags.bench == "" {
		return nil
	}
	content, err := profiles.ReadFile(r.flags.bench, r.env.stdin)
	if err != nil {
		return err
	}
	file, err := profiles.ReadBench(r.flags.bench, content)
	if err == nil && file.Virtual() {
		r.virtual = file.Supply
		return nil
	}
	r.file = &file
	return err
}

// readLoad reads the resistor and what is known of the second meter.
func (r *proofRun) readLoad() (err error) {
	f := r.flags
	if f.watts == "" && r.file == nil {
		f.watts = "100 W" // the embedded resistor stands everything
	}
	if f.watts == "" {
		return errors.New(`--dummy-load-power is needed: what the resistor may take, such as "50 W"`)
	}
	r.load = proof.Resistor{Ohms: f.load.Value}
	if r.load.Watts, err = unit.ParseAs(f.watts, "W"); err != nil {
		return fmt.Errorf("--dummy-load-power: %w", err)
	}
	if r.load.Tolerance, err = percent("--dummy-load-tolerance", f.tolerance); err != nil {
		return err
	}
	if r.load.MeterOff, err = percent("--meter-tolerance", f.meterOff); err != nil {
		return err
	}
	can, err := embeddedLimits(r.virtual)
	if err != nil {
		return err
	}
	supply := proof.Supply{HighestVolts: can.HighestVolts, HighestAmperes: can.HighestAmperes}
	if r.file != nil {
		supply = proof.Supply{HighestVolts: r.file.Supply.HighestVoltage, HighestAmperes: r.file.Supply.HighestCurrent}
	}
	_, err = r.load.Plan(supply)
	return err
}

func percent(flag, text string) (float64, error) {
	value, err := unit.ParseAs(text, "%")
	if err == nil && !(value >= 0 && value <= 20) {
		err = fmt.Errorf("%q is out of range; allowed is 0 %% to 20 %%", text)
	}
	if err != nil {
		return value, fmt.Errorf("%s: %w", flag, err)
	}
	return value, nil
}

// stoppable gives a context that the first signal ends, and one that the second Ctrl-C
// ends.
func stoppable(ctx context.Context) (first, second context.Context, ignore func()) {
	first, stop := context.WithCancel(ctx)
	second, abort := context.WithCancel(context.WithoutCancel(ctx))
	signals := make(chan os.Signal, signalRoom)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	done := make(chan struct{})
	go func() {
		for {
			select {
			case what := <-signals:
				if first.Err() != nil && what == os.Interrupt {
					abort()
				}
				stop()
			case <-done:
				return
			}
		}
	}()
	return first, second, func() { signal.Stop(signals); close(done); stop(); abort() }
}

// prove opens the bench, proves it with its output off, and closes it.
func (r *proofRun) prove(ctx context.Context) (report proof.Report, err error) {
	b, closing, err := r.open(ctx)
	if err != nil {
		return report, err
	}
	report, err = b.Prove(ctx, commissioning.Options{Samples: r.flags.samples, NoLid: r.flags.noLid, NoStop: r.flags.noStop, Patience: time.Minute})
	closed := closing()
	switch {
	case err != nil && ctx.Err() != nil:
		return report, notRight(errors.Join(errors.New("stopped before the proof was done; the output is off"), closed))
	case errors.Join(err, closed) != nil:
		return report, cannot(errors.Join(err, closed))
	}
	return report, nil
}
