package front

import (
	"context"
	"errors"
	"fmt"
	"net"

	"anodized/hal/virtual/modbusserver"
	"anodized/hal/virtual/pty"
	"anodized/hal/virtual/scpiserver"
)

// The form of a character on the pseudo-terminals: SCPI has a start bit, eight bits
// and a stop bit (common practice, no source), Modbus RTU eleven bits (MODBUS over
// Serial Line V1.02, 2.5.1).
const (
	defaultBaud    = 9600
	scpiCharBits   = 10
	modbusCharBits = 11
)

// mostModbusVolts is what 16 bits hold in steps of 10 mV.
const mostModbusVolts = 650

// lines are the other ways to the supply; nil where a front has none.
type lines struct {
	scpi, rtu *pty.Terminal
	modbus    net.Listener
}

func (f *Front) openLines() error {
	o := &f.options
	if o.Baud < 0 {
		return fmt.Errorf("%d baud: it must be above 0", o.Baud)
	}
	if limits := f.bench.Supply().Limits(); (o.RTUTerminal || o.ModbusListen != "") && limits.HighestVolts > mostModbusVolts {
		return fmt.Errorf("%v V: registers of 16 bits reach %d V; take SCPI", float64(limits.HighestVolts), mostModbusVolts)
	}
	var errs [3]error
	if o.SCPITerminal {
		f.lines.scpi, errs[0] = pty.Open()
	}
	if o.RTUTerminal {
		f.lines.rtu, errs[1] = pty.Open()
	}
	if o.ModbusListen != "" {
		f.lines.modbus, errs[2] = net.Listen("tcp", o.ModbusListen)
	}
	if err := errors.Join(errs[:]...); err != nil {
		return errors.Join(fmt.Errorf("opening the ways to the supply: %w", err), f.closeLines())
	}
	return nil
}

func (f *Front) closeLines() error {
	err := f.PullCables()
	if f.lines.modbus != nil {
		err = errors.Join(err, f.lines.modbus.Close())
	}
	return err
}

// SCPISerial is the address of the supply's serial line, "" where it has none.
func (f *Front) SCPISerial() string {
	if f.lines.scpi == nil {
		return ""
	}
	return fmt.Sprintf("serial://%s?baud=%d", f.lines.scpi.Path(), f.options.Baud)
}

// RTU is the address of the Modbus line with the supply and the lid's module, "" where
// there is none.
func (f *Front) RTU() string {
	if f.lines.rtu == nil {
		return ""
	}
	return fmt.Sprintf("rtu://%s?baud=%d&parity=even", f.lines.rtu.Path(), f.options.Baud)
}

// ModbusSupply is the address of the same over TCP, "" where there is none.
func (f *Front) ModbusSupply() string {
	if f.lines.modbus == nil {
		return ""
	}
	return "tcp://" + reachable(f.lines.modbus.Addr())
}

// SCPIOn has the supply answer on a line, each byte in its time, until the context ends.
// It closes the line.
func (f *Front) SCPIOn(ctx context.Context, line pty.Stream) error {
	return scpiserver.ServeLine(ctx, pty.Pace(line, f.options.Baud, scpiCharBits), (*supplyWire)(f))
}

// RTUOn has supply and remote module answer on a line, each byte in its time, until the
// context ends. It closes the line.
func (f *Front) RTUOn(ctx context.Context, line pty.Stream) error {
	return modbusserver.ServeLine(ctx, pty.Pace(line, f.options.Baud, modbusCharBits), (*bus)(f))
}

// SCPIAt has the supply answer whoever comes to a listener, until the context ends. It
// closes the listener.
func (f *Front) SCPIAt(ctx context.Context, listener net.Listener) error {
	return scpiserver.Serve(ctx, listener, (*supplyWire)(f))
}

// ModbusAt has supply and remote module answer whoever comes to a listener, until the
// context ends. It closes the listener.
func (f *Front) ModbusAt(ctx context.Context, listener net.Listener) error {
	return modbusserver.ServeTCP(ctx, listener, (*bus)(f))
}

// lineServers serve them, on the pseudo-terminals each byte in its time.
func (f *Front) lineServers() (servers []func(context.Context) error) {
	if line := f.lines.scpi; line != nil {
		servers = append(servers, func(ctx context.Context) error { return f.SCPIOn(ctx, line) })
	}
	if line := f.lines.rtu; line != nil {
		servers = append(servers, func(ctx context.Context) error { return f.RTUOn(ctx, line) })
	}
	if listener := f.lines.modbus; listener != nil {
		servers = append(servers, func(ctx context.Context) error { return f.ModbusAt(ctx, listener) })
	}
	return servers
}

// PullCables takes the pseudo-terminals away, as when a USB cable is pulled: whoever
// has one open reads its end, and nobody can open it again.
func (f *Front) PullCables() (err error) {
	for _, line := range []*pty.Terminal{f.lines.scpi, f.lines.rtu} {
		if line != nil {
			err = errors.Join(err, line.Close())
		}
	}
	return err
}
