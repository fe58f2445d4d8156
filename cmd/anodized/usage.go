package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"anodized/profiles"
)

// strict makes a command, and all below it, say what is wrong with what was typed, in
// the words of those who type it.
func strict(c *cobra.Command) {
	c.SetFlagErrorFunc(flagError)
	for _, below := range c.Commands() {
		strict(below)
	}
	switch {
	case !c.HasSubCommands():
		c.Args = counted(c.Args)
	case !c.Runnable():
		c.Args, c.RunE = knownWord, func(c *cobra.Command, _ []string) error { return c.Help() }
	default:
		c.Args = knownWord
	}
	c.Args = filled(c.Args)
}

// mayBeEmpty are the flags in which nothing is an answer, too.
var mayBeEmpty = []string{"note", "operator"}

// filled refuses a flag that was given nothing, as by a script whose variable is not set:
// a default in its place would run another load, or on another bench, than was meant.
func filled(fits cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) (err error) {
		c.Flags().Visit(func(f *pflag.Flag) {
			if err == nil && f.Value.Type() == "string" && f.Value.String() == "" && !slices.Contains(mayBeEmpty, f.Name) {
				err = fmt.Errorf("--%s is empty: give it a value, or leave it out: %s", f.Name, f.Usage)
			}
		})
		if err != nil || fits == nil {
			return err
		}
		return fits(c, args)
	}
}

// knownWord refuses a word that is no command of a group.
func knownWord(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, below := range c.Commands() {
		if below.IsAvailableCommand() {
			names = append(names, below.Name())
		}
	}
	return fmt.Errorf("%s has no command %q%s allowed: %s", c.CommandPath(), args[0], sentence(profiles.DidYouMean(args[0], names)), strings.Join(names, ", "))
}

// sentence parts a hint from what follows it.
func sentence(hint string) string {
	if hint == "" {
		return ";"
	}
	return hint
}

// counted says how a command is called where it got too many words or too few.
func counted(fits cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if fits == nil || fits(c, args) == nil {
			return nil
		}
		usage := strings.TrimSuffix(c.UseLine(), " [flags]")
		if len(args) == 0 {
			return fmt.Errorf("something is missing: %s", usage)
		}
		return fmt.Errorf("%q is a word too many or too few: %s; a name of several words stands in quotes", args[len(args)-1], usage)
	}
}

// flagError says what a flag takes.
func flagError(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var value *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		return fmt.Errorf("%s has no flag --%s%s --help lists them", c.CommandPath(), unknown.GetSpecifiedName(), sentence(flagHint(c, unknown.GetSpecifiedName())))
	case errors.As(err, &value):
		return valueError(value)
	}
	return err
}

func flagHint(c *cobra.Command, name string) string {
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	hint := profiles.DidYouMean(name, names)
	return strings.Replace(hint, `"`, `"--`, 1)
}

// numbersAllowed are what the flags of plain numbers take; all others say it themselves.
var numbersAllowed = map[string]string{
	"int": "a whole number", "uint64": "a whole number, 0 or more", "float64": "a number", "bool": "true or false",
}

func valueError(err *pflag.InvalidValueError) error {
	flag := err.GetFlag()
	allowed := numbersAllowed[flag.Value.Type()]
	if allowed == "" {
		return fmt.Errorf("--%s: %w", flag.Name, errors.Unwrap(err))
	}
	return fmt.Errorf("--%s %q: %s is needed: %s", flag.Name, err.GetValue(), allowed, flag.Usage)
}
