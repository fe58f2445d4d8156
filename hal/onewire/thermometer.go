package onewire

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
	"time"

	"periph.io/x/conn/v3/onewire"

	"anodized/hal"
	"anodized/hal/unit"
)

const (
	family         = 0x28 // of the DS18B20
	startConvert   = 0x44
	readScratchpad = 0xBE
	conversion     = 750 * time.Millisecond // at 12 bits, the longest
	period         = time.Second
	oldest         = 5 * time.Second // an older reading is none
	largestStep    = 5               // °C between two readings
)

// Thermometer is one DS18B20. It satisfies hal.Thermometer. Watch must run for it
// to have readings.
type Thermometer struct {
	device onewire.Dev

	before    unit.Celsius // the last one decoded, also where it was rejected for its step
	hasBefore bool

	mu    sync.Mutex
	value unit.Celsius
	at    time.Time
	err   error
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
	t.err = fmt.Errorf("%w: nothing read yet", hal.ErrNoReading)
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

// Temperature returns the latest reading and when it was taken. It is an
// hal.ErrNoReading, and not a number, where the last attempt failed or the reading
// is older than 5 s.
func (t *Thermometer) Temperature(context.Context) (unit.Celsius, time.Time, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	nothing := unit.Celsius(math.NaN())
	if t.err != nil {
		return nothing, t.at, fmt.Errorf("bath temperature: %w", t.err)
	}
	if age := time.Since(t.at); age > oldest {
		return nothing, t.at, fmt.Errorf("bath temperature: %w: the last one is %v old", hal.ErrNoReading, age.Round(time.Millisecond))
	}
	return t.value, t.at, nil
}

// Watch reads once a second until the context ends.
func (t *Thermometer) Watch(ctx context.Context) {
	ticker := time.NewTicker(period)
	defer ticker.Stop()
	for ctx.Err() == nil {
		value, err := t.read(ctx)
		t.store(value, err)
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}

func (t *Thermometer) store(value unit.Celsius, err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.err = err; err == nil {
		t.value, t.at = value, time.Now()
	}
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
	value, err := pad.celsius()
	if err != nil {
		return 0, err
	}
	return value, t.judgeStep(pad, value)
}

// judgeStep rejects a reading that is far from the one before. A real step passes
// with the second reading that shows it.
func (t *Thermometer) judgeStep(pad scratchpad, value unit.Celsius) error {
	before, had := t.before, t.hasBefore
	t.before, t.hasBefore = value, true
	if had && math.Abs(float64(value-before)) > largestStep {
		return pad.reject(fmt.Sprintf("%g °C after %g °C", float64(value), float64(before)))
	}
	return nil
}
