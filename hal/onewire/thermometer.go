package onewire

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/onewire"

	"anodized/hal"
	"anodized/hal/probe"
	"anodized/hal/unit"
)

const (
	family         = 0x28 // of the DS18B20
	startConvert   = 0x44
	readScratchpad = 0xBE
	conversion     = 750 * time.Millisecond // at 12 bits, the longest
)

// Thermometer is one DS18B20. It satisfies hal.Thermometer. Watch must run for it
// to have readings.
type Thermometer struct {
	*probe.Probe
	device onewire.Dev
}

// New finds a chip on a bus: the one with the given ROM code, written with 16
// hexadecimal digits or as 28-XXXXXXXXXXXX, or the only one there is.
func New(bus onewire.Bus, device string) (*Thermometer, error) {
	found, err := bus.Search(false)
	if err != nil {
		return nil, fmt.Errorf("search the 1-Wire bus: %w: %w", hal.ErrGone, err)
	}
	var chips []onewire.Address
	for _, address := range found {
		if byte(address) == family && matches(address, device) {
			chips = append(chips, address)
		}
	}
	if len(chips) != 1 {
		return nil, fmt.Errorf("%d DS18B20 on the 1-Wire bus match %q, of %s: %w: one is needed; name it in the bench file", len(chips), device, list(found), hal.ErrGone)
	}
	t := &Thermometer{device: onewire.Dev{Bus: bus, Addr: chips[0]}}
	t.Probe = probe.New(t.read)
	return t, nil
}

// matches compares an address with its two spellings; the empty one matches all.
func matches(address onewire.Address, device string) bool {
	kernel := fmt.Sprintf("%02x-%012x", byte(address), uint64(address)>>8&0xFFFFFFFFFFFF)
	whole := fmt.Sprintf("%016x", uint64(address))
	device = strings.TrimPrefix(strings.ToLower(device), "0x")
	return device == "" || device == kernel || device == whole
}

func list(addresses []onewire.Address) string {
	if len(addresses) == 0 {
		return "none"
	}
	words := make([]string, len(addresses))
	for i, address := range addresses {
		words[i] = strconv.FormatUint(uint64(address), 16)
	}
	return strings.Join(words, ", ")
}

// read starts a conversion, waits for it, and reads the chip.
func (t *Thermometer) read(ctx context.Context) (unit.Celsius, error) {
	if err := t.device.TxPower([]byte{startConvert}, nil); err != nil {
		return 0, fmt.Errorf("start a conversion: %w: %w", hal.ErrNoReading, err)
	}
	timer := time.NewTimer(conversion)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return 0, fmt.Errorf("%w: %w", hal.ErrNoReading, ctx.Err())
	case <-timer.C:
	}
	var pad scratchpad
	if err := t.device.Tx([]byte{readScratchpad}, pad[:]); err != nil {
		return 0, fmt.Errorf("read the scratchpad: %w: %w", hal.ErrNoReading, err)
	}
	return pad.celsius()
}
