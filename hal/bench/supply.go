package bench

import (
	"context"
	"fmt"

	"anodized/hal/scpi"
	"anodized/profiles"
)

func openSCPI(ctx context.Context, set *Set, entry profiles.SupplyEntry) error {
	address, err := hostPort(entry.Address, scpiPort)
	if err != nil {
		return err
	}
	line := &socket{address: address}
	set.keep(line)
	conn, err := line.dial(ctx)
	if err != nil {
		return fmt.Errorf("connect: %w", err)
	}
	supply, err := scpi.Open(ctx, scpi.Options{
		Transport:      conn,
		Redial:         func(ctx context.Context) (scpi.Transport, error) { return line.dial(ctx) },
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
	}
}
