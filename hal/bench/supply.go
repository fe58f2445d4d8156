package bench

import (
	"context"
	"fmt"

	"anodized/hal"
	"anodized/hal/scpi"
	"anodized/profiles"
)

func openSCPI(ctx context.Context, set *Set, entry profiles.SupplyEntry) error {
	line, err := newLine(entry.Address, scpiWays...)
	if err != nil {
		return err
	}
	return openSCPIOn(ctx, set, line, entry)
}

func openSCPIOn(ctx context.Context, set *Set, line *line, entry profiles.SupplyEntry) error {
	set.keep(line)
	conn, err := line.dial(ctx)
	if err != nil {
		return fmt.Errorf("connect: %w: %w", hal.ErrGone, err)
	}
	supply, err := scpi.Open(ctx, scpi.Options{
		Transport:      conn,
		Redial:         line.scpi,
		KeepOpen:       line.keep,
		Dialect:        dialect(entry.Dialect),
		HighestVolts:   entry.HighestVoltage,
		HighestAmperes: entry.HighestCurrent,
		Log:            set.log,
	})
	if err != nil {
		return err
	}
	set.Supply, set.release = supply.WithAbilities(), supply.Release
	return nil
}

// dialect hands a bench file's dialect to the driver, which knows no file.
func dialect(d profiles.Dialect) scpi.Dialect {
	return scpi.Dialect{
		SendEnd: d.SendEnd, ReplyEnd: d.ReplyEnd, Echo: d.Echo, Ack: d.Ack,
		Enter: d.Enter, Leave: d.Leave, Compound: d.Compound, OPC: d.OPC,
		Errors: d.Errors, Probe: d.Probe, OVP: d.OVP, Status: d.Status,
		Timeout: d.Timeout, Gap: d.Gap, Settle: d.Settle,
		DecimalsV: d.DecimalsV, DecimalsA: d.DecimalsA, MainsReturn: d.MainsReturn,
		LostHostSwitch: d.LostHostSwitch, LostHostDelay: d.LostHostDelay, LostHostAfter: d.LostHostAfter,
	}
}
