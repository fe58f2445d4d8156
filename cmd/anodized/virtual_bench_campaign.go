package main

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/spf13/cobra"

	"anodized/controller/campaign"
	"anodized/profiles"
)

func init() { virtualBenchCommands = append(virtualBenchCommands, newCampaignCommand) }

type campaignFlags struct {
	runs, workers int
	seed, replay  uint64
	report        string
	json          bool
}

func newCampaignCommand(e env) *cobra.Command {
	var f campaignFlags
	command := &cobra.Command{
		Use:   "campaign",
		Short: "seeded loads by the thousand, with faults, judged from the plant",
		Long: "SIMULATED loads, as many at a time as there are processors: of twenty seeds in a row six in\n" +
			"good order, ten with one fault, three with two, one of disorder. What must hold in every run\n" +
			"is judged from the plant and the wire, not from what the station says of itself. What is run\n" +
			"follows from the seed alone: --replay runs the one load of a seed again, and tells of it.\n\n" +
			"Exit status 1 where something happened that must not, or a load in good order tripped.",
		Example: `  anodized virtual-bench campaign --runs 1000
  anodized virtual-bench campaign --runs 100000 --seed 7 --report campaign
  anodized virtual-bench campaign --replay 12346`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			if command.Flags().Changed("replay") {
				return replaySeed(command, e, f)
			}
			return runCampaign(command, e, f)
		},
	}
	command.Flags().IntVar(&f.runs, "runs", 1000, "how many loads")
	command.Flags().Uint64Var(&f.seed, "seed", 1, "seed of the first load; the others follow")
	command.Flags().IntVar(&f.workers, "workers", 0, "loads at a time; 0: as many as there are processors")
	command.Flags().Uint64Var(&f.replay, "replay", 0, "run the one load of this seed, and tell of it")
	command.Flags().StringVar(&f.report, "report", "", "write NAME.md and NAME.json")
	command.Flags().BoolVar(&f.json, "json", false, "print one JSON object")
	return command
}

// mostRuns keeps a slip of the finger from filling the memory.
const mostRuns = 10_000_000

func runCampaign(command *cobra.Command, e env, f campaignFlags) error {
	if f.runs < 1 || f.runs > mostRuns {
		return badInput(fmt.Errorf("--runs %d: 1 to %d loads", f.runs, mostRuns))
	}
	surface, err := surfaceOf(profiles.Calibration{Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson"})
	if err != nil {
		return cannot(err)
	}
	out, err := campaign.Campaign(command.Context(), campaign.Options{Runs: f.runs, Seed: f.seed, Workers: f.workers, Surface: surface})
	if err != nil {
		return cannot(err)
	}
	if err := writeReport(f.report, out); err != nil {
		return cannot(err)
	}
	if f.json {
		err = printJSON(e.stdout, out)
	} else {
		err = printCampaign(e.stdout, out)
	}
	if err != nil {
		return cannot(fmt.Errorf("print the report: %w", err))
	}
	if !out.Right() {
		return notRight(fmt.Errorf("campaign: %d violations and %d false trips in %d runs: repeat a load by its seed", len(out.Violations), out.FalseTrips, out.Runs))
	}
	return nil
}

func printCampaign(w io.Writer, o campaign.Outcome) error {
	p := &lines{w: w}
	p.line("SIMULATED: %d loads from seed %d in %.0f s, %.1f ms of a processor each", o.Runs, o.Seed, o.Seconds, o.Process.CPUMSARun)
	p.line("in good order: %d loads, %d false trips (below %.2g of them with 95 %% certainty)", o.Healthy.Runs, o.FalseTrips, o.Healthy.FalseTripMost)
	for _, code := range slices.Sorted(maps.Keys(o.Healthy.FalseFindings)) {
		p.line("  false finding %-24s %d, first at seed %d", code, o.Healthy.FalseFindings[code], o.Healthy.Seeds[code])
	}
	p.line("\n%-26s %8s %8s %8s %8s %8s %8s %8s %8s %10s", "fault", "injected", "to see", "found", "by name", "missed", "p50 s", "p99 s", "max s", "worst seed")
	for _, in := range campaign.Injections() {
		d := o.Detection[in.ID]
		p.line("%-26s %8d %8d %8d %8d %8d %8.2f %8.2f %8.2f %10d", in.ID, d.Injected, d.Inside, d.Found, d.AsItself, d.Missed, d.P50, d.P99, d.Longest, d.Worst)
	}
	p.line("\n%d violations", len(o.Violations))
	for _, v := range o.Violations {
		p.line("  seed %d: %s: %s", v.Seed, v.Invariant, v.Detail)
	}
	return p.err
}

// lines writes lines until one cannot be written.
type lines struct {
	w   io.Writer
	err error
}

func (l *lines) line(format string, values ...any) {
	if l.err == nil {
		_, l.err = fmt.Fprintf(l.w, format+"\n", values...)
	}
}
