package main

import (
	"fmt"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/review"
)

// draw makes the picture of a load that was asked for, from its record. A load
// that was never energised has none, which is said.
func (j *job) draw(e env, kept *journal.Journal, result record.Result) error {
	if j.flags.plot == "" {
		return nil
	}
	if result.EndVolts == nil {
		_, err := fmt.Fprintln(e.stderr, "anodized: --plot: nothing was energised, so there is nothing to draw")
		return err
	}
	run, err := kept.Run(result.Run)
	if err != nil {
		return fmt.Errorf("--plot: %w", err)
	}
	return drawReviewed(j.flags.plot, reviewed{run: run, review: review.OfRun(run)})
}
