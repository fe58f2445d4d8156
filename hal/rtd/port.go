package rtd

import (
	"context"
	"fmt"
	"strings"
	"time"

	"anodized/hal"
)

// write sets registers from the given one on.
func (t *Thermometer) write(register byte, values ...byte) error {
	out := append([]byte{register | writing}, values...)
	if err := t.o.Port.Tx(out, make([]byte, len(out))); err != nil {
		return fmt.Errorf("write % X: %w: %w", out, hal.ErrNoReading, err)
	}
	return nil
}

// registers reads all eight at once, so that they belong together.
func (t *Thermometer) registers() (all [8]byte, err error) {
	in := make([]byte, 1+len(all))
	if err := t.o.Port.Tx(make([]byte, len(in)), in); err != nil {
		return all, fmt.Errorf("read its registers: %w: %w", hal.ErrNoReading, err)
	}
	return [8]byte(in[1:]), nil
}

// faultWords says what the fault register found. The names are the data sheet's.
func faultWords(faults byte) string {
	var words []string
	for _, f := range []struct {
		bit  byte
		word string
	}{
		{0x80, "the resistance is above the high threshold: a lead is open, or the bath above 150 °C"},
		{0x40, "the resistance is below the low threshold: a lead is shorted, or the bath below -50 °C"},
		{0x20, "REFIN- is above 0.85 of the bias: an open lead"},
		{0x10, "REFIN- is below 0.85 of the bias with FORCE- open: a shorted lead"},
		{0x08, "RTDIN- is below 0.85 of the bias with FORCE- open: a shorted lead"},
		{0x04, "a pin is above or below the supply"},
	} {
		if faults&f.bit != 0 {
			words = append(words, f.word)
		}
	}
	if len(words) == 0 {
		return fmt.Sprintf("a fault without a name, register %02X", faults)
	}
	return strings.Join(words, "; ")
}

func pause(ctx context.Context, d time.Duration) error {
	if d == 0 {
		return nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return fmt.Errorf("cut off: %w: %w", hal.ErrNoReading, ctx.Err())
	case <-timer.C:
		return nil
	}
}
