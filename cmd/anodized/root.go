package main

import (
	"context"
	"encoding/json"
	"io"

	"github.com/spf13/cobra"
)

// commands are the constructors of the subcommands, one small file each.
var commands = []func(env) *cobra.Command{}

func run(ctx context.Context, e env, args []string) int {
	root := newRoot(e)
	root.SetArgs(args)
	return exitStatus(e.stderr, root.ExecuteContext(ctx))
}

func newRoot(e env) *cobra.Command {
	root := &cobra.Command{
		Use:           "anodized",
		Short:         "the bench controller for the anodize station of a small metal shop",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetIn(e.stdin)
	root.SetOut(e.stdout)
	root.SetErr(e.stderr)
	for _, construct := range commands {
		root.AddCommand(construct(e))
	}
	root.InitDefaultCompletionCmd() // now, so that it is strict, too
	strict(root)
	return root
}

// printJSON writes one JSON object on one line.
func printJSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	return encoder.Encode(v)
}
