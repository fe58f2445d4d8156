package main

import (
	"context"
	"fmt"
	"log/slog"

	"anodized/controller/proof"
	"anodized/profiles"
)

// openForLoads opens a bench that loads may run on: one whose set-up says that its output
// is not isolated is not opened at all. What else the set-up narrows is told.
func openForLoads(ctx context.Context, file profiles.Bench, log *slog.Logger) (bench, error) {
	permit := proof.Permit(file)
	if whys := permit.Whys(proof.NothingRuns); len(whys) > 0 {
		return bench{}, cannot(fmt.Errorf("nothing may run on this bench: %s", whys[0]))
	}
	b, err := openBench(ctx, file, log)
	if err != nil {
		return b, err
	}
	b.devices.Unbled = len(permit.Whys(proof.NeverSafe)) > 0
	for _, n := range permit.Narrows {
		log.Warn("the set-up of this bench narrows what it may do", "to", n.What, "why", n.Why)
	}
	return b, nil
}
