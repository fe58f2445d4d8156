package main

import (
	"errors"

	"github.com/spf13/cobra"

	"anodized/controller/plan"
)

func init() { commands = append(commands, newPlanCommand) }

func newPlanCommand(e env) *cobra.Command {
	var f planFlags
	var from repeatFlags
	var asJSON bool
	command := &cobra.Command{
		Use:   "plan",
		Short: "every number of a run, with warnings; energises nothing",
		Long: "Turns a profile, a rack and a calibration into every number of the run: volts, amperes,\n" +
			"times, the colour to expect, and what to know before starting. It energises nothing.\n" +
			"What the bench cannot give is refused, as run does: exit status 2.",
		Example: `  anodized plan
  anodized plan --profile "light blue" --rack my-rack.yaml
  anodized plan --profile my-profile.yaml --bench bench.yaml --json
  anodized plan --from last`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return makePlan(e, f, from, asJSON) },
	}
	f.register(command.Flags())
	from.register(command.Flags())
	command.Flags().StringVar(&from.journal, "journal", "", "journal with the calibrations of the shop, and the run of --from, if not the usual one")
	command.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return command
}

func makePlan(e env, f planFlags, from repeatFlags, asJSON bool) error {
	path, err := placeOfHistory(e, from.journal)
	if err != nil {
		return err
	}
	f.shelf = shelf(path)
	request, kept, err := assembleOr(e, f, from)
	if err != nil {
		return err
	}
	made, err := withHistory(path, request)
	if err != nil {
		return err
	}
	since, err := kept.changed(made, f.shelf)
	if err != nil {
		return cannot(err)
	}
	if asJSON {
		return printJSON(e.stdout, struct {
			plan.Plan
			Repeats *repeated `json:"repeats,omitempty"`
		}{made, since})
	}
	return errors.Join(printPlan(e.stdout, made), since.print(e.stdout))
}
