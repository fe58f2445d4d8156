package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/web"
	"anodized/profiles"
)

func init() { commands = append(commands, newServeCommand) }

// usualListen is where the daemon is, and where its clients look for it.
const usualListen = "127.0.0.1:7070"

type serveFlags struct {
	runFlags
	listen          string
	hosts           []string
	config          string
	here            string // the folder of config
	profiles, racks string // folders of the shop
	persons         []web.Person
	sealed          *tls.Config // nil: without TLS
	watchdog        string      // of the board; "" for none
	watchdogTime    time.Duration
}

func newServeCommand(e env) *cobra.Command {
	var f serveFlags
	command := &cobra.Command{
		Use:   "serve",
		Short: "the daemon: owns the bench; page, API, event stream, metrics",
		Long: "Owns the bench, and serves its page and its API to this machine. Without --bench it is the\n" +
			"embedded virtual bench with one rack in its bath: SIMULATED, and its person changes the rack\n" +
			"when a load is started. Without credentials in the file of --config only an address of this\n" +
			"machine may be listened to.\n\n" +
			"SIGTERM, Ctrl-C: a load that runs is stopped, output off, record kept, then the end; a second\n" +
			"one does not wait. Exit status: 0 ended as asked; 2 bad input; 3 the bench, the journal or the\n" +
			"address cannot be used.",
		Example: `  anodized serve --bench bench.yaml
  anodized serve --speed 10          # the embedded bench, ten times as fast
  anodized serve --listen 127.0.0.1:0 --json
  anodized serve --config daemon.yaml`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			f.speedGiven = command.Flags().Changed("speed")
			if err := f.configure(e.stdin, command.Flags().Changed); err != nil {
				return badInput(err)
			}
			return runServe(command.Context(), e, f)
		},
	}
	f.registerServe(command)
	return command
}

func (f *serveFlags) registerServe(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&f.bench, "bench", "", "bench file, or -; without it the embedded virtual bench")
	flags.StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	flags.StringVar(&f.config, "config", "", "file that says what the flags say, and who may reach the daemon from other machines; a flag goes first")
	flags.StringVar(&f.listen, "listen", usualListen, "address to listen at; port 0 is any free one")
	flags.StringArrayVar(&f.hosts, "allow-host", nil, "a further name that a browser may call this bench by; may be repeated")
	flags.StringVar(&f.watchdog, "board-watchdog", "", "watchdog of this computer, such as /dev/watchdog, fed by finished ticks that read the lid switch")
	flags.StringVar(&f.rack, "rack", profiles.DefaultRack, "embedded bench: the rack in its bath, by its name or a file")
	flags.Float64Var(&f.speed, "speed", 1, "embedded bench: so many times real time, from 0.1 to 1000")
	flags.Uint64Var(&f.seed, "seed", 1, "embedded bench: the same seed gives the same noise")
	flags.StringArrayVar(&f.faults, "fault", nil, "embedded bench: a fault at a moment, such as contact-lost@35V; may be repeated")
	flags.BoolVar(&f.json, "json", false, "print one JSON object once it serves")
	flags.BoolVar(&f.verbose, "verbose", false, "log everything that the station does")
	f.profile = profiles.DefaultProfile
}

func (f serveFlags) check() error {
	if err := web.CheckListen(f.listen, len(f.persons) > 0); err != nil {
		return err
	}
	if !(f.speed >= leastSpeed && f.speed <= 1000) {
		return fmt.Errorf("--speed %v: from %v to 1000 times real time", f.speed, leastSpeed)
	}
	return nil
}

// runServe takes what it needs in the order in which it costs least to find that it
// cannot: the address, the bench, the journal.
func runServe(ctx context.Context, e env, f serveFlags) error {
	d := daemon{env: e, flags: f, log: f.logger(e)}
	if err := d.prepare(); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", f.listen)
	if err != nil {
		return cannot(fmt.Errorf("listen at %s: %w: another daemon may be there: see anodized status", f.listen, err))
	}
	if d.bench, err = d.openBench(ctx); err != nil {
		return errors.Join(err, listener.Close())
	}
	kept, err := journal.Open(d.job.path, journal.Options{})
	if err != nil {
		return cannot(errors.Join(fmt.Errorf("open the journal: %w", err), d.bench.close(), listener.Close()))
	}
	d.job.tellStatus(e, kept.Status())
	err = d.serve(ctx, kept, d.listening(listener))
	if err = errors.Join(err, d.bench.close(), kept.Close()); err != nil {
		return cannot(err)
	}
	return nil
}

func (f serveFlags) logger(e env) *slog.Logger {
	level := slog.LevelInfo
	if f.verbose {
		level = slog.LevelDebug
	}
	return slog.New(slog.NewTextHandler(e.stderr, &slog.HandlerOptions{Level: level}))
}

// prepare looks at everything that a person could have got wrong.
func (d *daemon) prepare() error {
	if err := d.flags.check(); err != nil {
		return badInput(err)
	}
	d.job = job{flags: d.flags.runFlags, personWaits: true}
	if err := d.job.checkFlags(d.env); err != nil {
		return badInput(err)
	}
	var err error
	if d.job.path, err = journalPath(d.env, d.flags.journal); err != nil {
		return err
	}
	if err := journal.Answers(d.job.path); err != nil {
		return cannot(err)
	}
	d.flags.planFlags.shelf = shelf(d.job.path)
	if d.job.request, d.job.frozen, err = assemble(d.flags.planFlags, d.env.stdin); err != nil {
		return err
	}
	if err := d.job.checkEmbedded(); err != nil {
		return badInput(err)
	}
	return nil
}

// openBench opens the bench. The embedded one hangs its rack first.
func (d *daemon) openBench(ctx context.Context) (bench, error) {
	if file := d.job.frozen.Bench; file != nil {
		return openForLoads(ctx, *file, d.log)
	}
	b, err := d.job.embedded()
	if racks, is := b.pacer.(interface{ NextRack() }); is {
		d.nextRack = racks.NextRack
	}
	return b, err
}
