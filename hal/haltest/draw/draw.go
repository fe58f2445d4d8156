// Package draw lets property tests draw the same cases on each run: a counterexample that
// one draw in thousands meets would stop a gate on some day, for whoever came that day.
// A package imports it beside pgregory.net/rapid, for what it does at start:
//
//	import _ "anodized/hal/haltest/draw"
//
// Cases are drawn anew where somebody asks, by the words of that library:
//
//	RAPID_SEED=0 go test -count=1 ./controller/...
package draw

import (
	"flag"
	"os"

	_ "pgregory.net/rapid" // its flags are there before they are set here
)

// seed is where each test begins to draw. Zero means another one each time.
const seed = "1"

func init() {
	if err := fix(flag.CommandLine, os.LookupEnv); err != nil {
		panic(err)
	}
}

// fix sets the seed unless the environment names one; a flag of the command line comes
// after this and wins.
func fix(flags *flag.FlagSet, lookup func(string) (string, bool)) error {
	if _, asked := lookup("RAPID_SEED"); asked {
		return nil
	}
	return flags.Set("rapid.seed", seed)
}
