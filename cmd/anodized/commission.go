package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	benches "anodized/hal/bench"
	"anodized/profiles"
)

func init() { commands = append(commands, newCommissionCommand) }

func newCommissionCommand(e env) *cobra.Command {
	mainsOff, asJSON := false, false
	command := &cobra.Command{
		Use:   "commission BENCH",
		Short: "make the converters of an analogue supply power up at zero, once in their life",
		Long: "Some converters load a code from their own memory when they get power, and come from\n" +
			"the factory with half scale in it: half the volts, before any program runs. Commission\n" +
			"writes zero into that memory, reads it back, and names the converters. A run refuses a\n" +
			"converter that was not commissioned.\n\n" +
			"Switch the supply's mains off first, and say so with --mains-off.",
		Example: "  anodized commission --mains-off bench.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			if !mainsOff {
				return badInput(errors.New("switch the mains of the supply off, then say so with --mains-off; nothing was written"))
			}
			return runCommission(command.Context(), e, args[0], asJSON)
		},
	}
	command.Flags().BoolVar(&mainsOff, "mains-off", false, "the mains of the supply are off")
	command.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return command
}

func runCommission(ctx context.Context, e env, path string, asJSON bool) error {
	content, err := profiles.ReadFile(path, e.stdin)
	if err != nil {
		return badInput(err)
	}
	file, err := profiles.ReadBench(path, content)
	if err != nil {
		return badInput(err)
	}
	done, err := benches.Commission(ctx, file)
	if errors.Is(err, benches.ErrFile) {
		return badInput(err)
	}
	if err != nil {
		return cannot(err)
	}
	return printCommissioned(e, done, asJSON)
}

func printCommissioned(e env, done []string, asJSON bool) error {
	if asJSON {
		return printJSON(e.stdout, struct {
			Commissioned []string `json:"commissioned"`
		}{append([]string{}, done...)})
	}
	if len(done) == 0 {
		_, err := fmt.Fprintln(e.stdout, "no converter of this bench keeps a power-up code: nothing to commission")
		return err
	}
	for _, converter := range done {
		if _, err := fmt.Fprintf(e.stdout, "%s: powers up at zero\n", converter); err != nil {
			return err
		}
	}
	return nil
}
