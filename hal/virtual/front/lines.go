package front

import (
	"context"
	"fmt"

	"anodized/hal/virtual/pty"
	"anodized/hal/virtual/scpiserver"
)

// The form of a character on the pseudo-terminals: SCPI has a start bit, eight bits
// and a stop bit (common practice, no source).
const (
	defaultBaud  = 9600
	scpiCharBits = 10
)

// lines are the pseudo-terminals of a front; nil where it has none.
type lines struct{ scpi *pty.Terminal }

func (f *Front) openLines() (err error) {
	if f.options.Baud < 0 {
		return fmt.Errorf("%d baud: it must be above 0", f.options.Baud)
	}
	if f.options.SCPITerminal {
		f.lines.scpi, err = pty.Open()
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

// lineServers serve the pseudo-terminals, each byte in its time.
func (f *Front) lineServers() (servers []func(context.Context) error) {
	if line := f.lines.scpi; line != nil {
		servers = append(servers, func(ctx context.Context) error {
			return scpiserver.ServeLine(ctx, pty.Pace(line, f.options.Baud, scpiCharBits), (*supplyWire)(f))
		})
	}
	return servers
}

// PullCables takes the pseudo-terminals away, as when a USB cable is pulled: whoever
// has one open reads its end, and nobody can open it again.
func (f *Front) PullCables() error {
	if f.lines.scpi == nil {
		return nil
	}
	return f.lines.scpi.Close()
}
