// Package together lets more tests of a package run at once than there are processors. It
// is for packages whose tests wait, for a process or a line in real time, and do not reckon.
package together

import "flag"

// atOnce is how many: on two processors a load in real time still gets its turn in each
// tick beside five others.
const atOnce = "6"

// Wait is for TestMain, before it runs the tests. -parallel on the command line wins.
func Wait() error {
	flag.Parse()
	return allow(flag.CommandLine)
}

func allow(flags *flag.FlagSet) error {
	const name = "test.parallel"
	asked := false
	flags.Visit(func(one *flag.Flag) { asked = asked || one.Name == name })
	if asked {
		return nil
	}
	return flags.Set(name, atOnce)
}
