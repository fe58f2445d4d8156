package main

import (
	"errors"
	"fmt"
	"strings"

	"anodized/hal/virtual"
)

func parseFaults(texts []string) ([]virtual.Fault, error) {
	var faults []virtual.Fault
	for _, text := range texts {
		fault, err := virtual.ParseFault(text)
		if err != nil {
			return nil, fmt.Errorf("--fault: %w", err)
		}
		faults = append(faults, fault)
	}
	return faults, nil
}

// noFault says of a fault of what the bench does not have which flag brings that. Another
// error is nil.
func noFault(err error) error {
	var lacks *virtual.Lacking
	switch {
	case !errors.As(err, &lacks):
		return nil
	case lacks.Needs == "":
		return fmt.Errorf("--fault: %w", lacks)
	}
	return fmt.Errorf("--fault: %w: virtual-bench --%s has it", lacks, lacks.Needs)
}

// faultHelp tells every fault, its size where it has one, and how to say when.
func faultHelp() string {
	var b strings.Builder
	b.WriteString("Faults are ID@MOMENT: contact-lost@35V (reached), @20s (energised), @hold+10s, @start+2s; with\n" +
		",for=2s ,size=NUMBER ,part=NUMBER or ,part=all behind them where another than the usual is meant, and ,answers=NUMBER\n" +
		"behind what spoils the supply's answers, for so many of them.\n")
	for _, kind := range virtual.Kinds() {
		notes := ""
		if kind.Unit != "" {
			notes = fmt.Sprintf(" (size %g %s)", kind.Size, kind.Unit)
		}
		if kind.Needs != "" {
			notes += fmt.Sprintf(" (with --%s)", kind.Needs)
		}
		fmt.Fprintf(&b, "  %-23s %s%s\n", kind.ID, kind.What, notes)
	}
	return b.String()
}
