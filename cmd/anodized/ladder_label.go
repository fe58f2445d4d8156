package main

import (
	"bytes"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/report"
	"anodized/hal/unit"
	"anodized/profiles"
)

func newLadderLabelCommand(e env) *cobra.Command {
	var out, date string
	command := &cobra.Command{
		Use:   "label LADDER.yaml",
		Short: "labels for the coupons of a ladder: number, volts, end, bath, date",
		Long: "Writes a label for each coupon, to tie to it before it is coloured: coupons look alike in\n" +
			"other orders, and only the volts tell them apart. On paper as SVG, PNG or PDF, else as text.",
		Example: `  anodized ladder label ladder.yaml
  anodized ladder label ladder.yaml --out labels.svg`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return labelLadder(e, args[0], out, date) },
	}
	command.Flags().StringVar(&out, "out", "", "draw them into FILE.svg, FILE.png or FILE.pdf")
	command.Flags().StringVar(&date, "date", "", "on the labels, year-month-day (default today)")
	return command
}

func labelLadder(e env, file, out, date string) error {
	ladder, err := openLadder(file, e)
	if err != nil {
		return err
	}
	if date == "" {
		date = time.Now().Format(time.DateOnly)
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return badInput(fmt.Errorf("--date %q: year-month-day is needed, as in 2026-03-02", date))
	}
	labels := labelsOf(ladder, date)
	if out == "" {
		return printLabels(e, labels)
	}
	format, err := report.SheetFormatOf(out)
	if err != nil {
		return badInput(err)
	}
	var picture bytes.Buffer
	if err := report.DrawLabels(&picture, format, labels); err != nil {
		return badInput(err)
	}
	if err := os.WriteFile(out, picture.Bytes(), 0o644); err != nil {
		return badInput(fmt.Errorf("--out: %w", err))
	}
	return nil
}

func labelsOf(l profiles.Ladder, date string) report.Labels {
	labels := report.Labels{Title: fmt.Sprintf("Ladder %s, %d coupons", l.ID, len(l.Coupons)), Simulated: l.Simulated()}
	for i, c := range l.Coupons {
		lines := []string{l.CouponName(i), "end " + unit.Format(l.End.CurrentDensity) + ", ramp " + unit.Format(l.Ramp), l.Metal + " " + l.Finish, "bath " + l.Bath, date}
		if c.Run != "" {
			lines = append(lines, simulatedWord(c.Simulated)+"run "+c.Run)
		}
		labels.Each = append(labels.Each, report.Label{Large: fmt.Sprintf("%d   %s", i+1, unit.Format(c.Volts)), Lines: lines})
	}
	return labels
}

func printLabels(e env, labels report.Labels) error {
	p := &printer{out: e.stdout}
	p.line("%s%s", simulatedWord(labels.Simulated), labels.Title)
	for _, label := range labels.Each {
		p.line("")
		p.line("  %s", label.Large)
		for _, line := range label.Lines {
			p.line("    %s", line)
		}
	}
	return p.err
}
