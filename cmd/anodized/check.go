package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"anodized/controller/proof"
	"anodized/profiles"
)

func init() { commands = append(commands, newCheckCommand) }

// checkedFile is what check says of one file.
type checkedFile struct {
	Path   string            `json:"path"`
	Kind   string            `json:"kind"` // "" where it cannot be told
	OK     bool              `json:"ok"`
	Errors profiles.Mistakes `json:"errors"`
	Notes  []string          `json:"notes"` // what is no mistake, and to be known before a load
}

func newCheckCommand(e env) *cobra.Command {
	asJSON := false
	command := &cobra.Command{
		Use:   "check FILE...",
		Short: "validate any file of ours: say what it is and what is wrong",
		Long: "Check says of each file what it is (profile, rack, metal, bath, calibration, bench, daemon,\n" +
			"master, curve, readings) and that it is ok, or each mistake as FILE:LINE:COLUMN: message.\n" +
			"A FILE may be - for standard input. It exits with 2 where anything is wrong.\n\n" + shapesHelp(),
		Example: "  anodized check profile.yaml rack.yaml bench.yaml\n" +
			"  anodized check --json - < readings.csv",
		Args: cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return runCheck(e, args, asJSON) },
	}
	command.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return command
}

func runCheck(e env, args []string, asJSON bool) error {
	files := make([]checkedFile, len(args))
	wrong := 0
	for i, arg := range args {
		files[i] = checkFile(e, arg)
		if !files[i].OK {
			wrong++
		}
	}
	if err := printChecked(e, files, asJSON); err != nil {
		return fmt.Errorf("printing the result: %w", err)
	}
	if wrong > 0 {
		return badInput(fmt.Errorf("%d of %d files are wrong", wrong, len(files)))
	}
	return nil
}

func checkFile(e env, arg string) checkedFile {
	content, err := profiles.ReadFile(arg, e.stdin)
	kind := ""
	if err == nil {
		kind, err = profiles.Check(arg, content)
	}
	mistakes := profiles.Mistakes{}
	if err != nil && !errors.As(err, &mistakes) {
		mistakes = profiles.Mistakes{{File: arg, Line: 1, Column: 1, Message: err.Error()}}
	}
	return checkedFile{Path: arg, Kind: kind, OK: err == nil, Errors: mistakes, Notes: notes(kind, arg, content, err)}
}

// notes are what a bench file without a mistake leaves to be known: a supply that cannot be
// starved, a rate that is taken because none is said.
func notes(kind, arg string, content []byte, mistaken error) []string {
	if kind != "bench" || mistaken != nil {
		return []string{}
	}
	b, err := profiles.ReadBench(arg, content)
	if err != nil {
		return []string{err.Error()} // cannot be: it was read a moment ago
	}
	return append(append([]string{}, proof.Permit(b).Whys(proof.NeverStarved)...), b.UnsaidRates()...)
}

func printChecked(e env, files []checkedFile, asJSON bool) error {
	if asJSON {
		return printJSON(e.stdout, struct {
			Files []checkedFile `json:"files"`
		}{files})
	}
	for _, f := range files {
		if err := printFile(e, f); err != nil {
			return err
		}
	}
	return nil
}

func printFile(e env, f checkedFile) error {
	if f.OK {
		_, err := fmt.Fprintf(e.stdout, "%s: %s, ok\n", f.Path, f.Kind)
		for _, note := range f.Notes {
			if err == nil {
				_, err = fmt.Fprintf(e.stdout, "  note: %s\n", note)
			}
		}
		return err
	}
	_, err := fmt.Fprintln(e.stdout, f.Errors.Error())
	return err
}
