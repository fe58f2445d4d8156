package main

import (
	"github.com/spf13/cobra"
)

func init() { commands = append(commands, newLadderCommand) }

func newLadderCommand(e env) *cobra.Command {
	command := &cobra.Command{
		Use:   "ladder",
		Short: "plan a ladder of coupons, run it, read it, and fit this bath's calibration",
		Long: "A ladder is a handful of coupons of the parts' own metal and finish, each coloured at\n" +
			"other volts in the bath as it is, with one end criterion. Their colours say how many\n" +
			"nanometres a volt makes here: from then on volts are those of this bath, not of a book.",
		Example: `  anodized ladder plan --coupons 8 --range "10 V..100 V" --out ladder.yaml
  anodized ladder run ladder.yaml --bench bench.yaml
  anodized ladder read ladder.yaml
  anodized ladder fit ladder.yaml --plot fit.svg --out calibration.yaml
  anodized ladder list
  anodized ladder fit readings.csv --metal titanium-grade-5 --end "0.15 mA/cm2" --json`,
	}
	command.AddCommand(newLadderPlanCommand(e), newLadderLabelCommand(e), newLadderRunCommand(e), newLadderReadCommand(e), newLadderFitCommand(e), newLadderListCommand(e))
	return command
}
