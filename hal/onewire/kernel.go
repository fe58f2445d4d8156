package onewire

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"strconv"
	"strings"

	"anodized/hal"
	"anodized/hal/probe"
	"anodized/hal/unit"
)

// KernelFolder is where the kernel's 1-Wire driver keeps its chips.
const KernelFolder = "/sys/bus/w1/devices"

// Kernel is one DS18B20 that the kernel reads. It satisfies hal.Thermometer. Watch
// must run for it to have readings.
type Kernel struct {
	*probe.Probe
	folder fs.FS
	chip   string // the name of its folder
}

// NewKernel finds a chip among those that the kernel knows: the one with the given
// ROM code, written with 16 hexadecimal digits or as 28-XXXXXXXXXXXX, or the only
// one there is. The folder is [KernelFolder].
func NewKernel(folder fs.FS, device string) (*Kernel, error) {
	entries, err := fs.ReadDir(folder, ".")
	if err != nil {
		return nil, fmt.Errorf("list the kernel's 1-Wire chips: %w: %w; is the kernel's w1 driver on?", hal.ErrGone, err)
	}
	var chips, all []string
	for _, entry := range entries {
		if name := entry.Name(); strings.HasPrefix(name, "28-") {
			all = append(all, name)
			if device == "" || name == kernelName(device) {
				chips = append(chips, name)
			}
		}
	}
	if len(chips) != 1 {
		return nil, fmt.Errorf("%d DS18B20 of the kernel match %q, of %q: %w: one is needed; name it in the bench file", len(chips), device, all, hal.ErrGone)
	}
	k := &Kernel{folder: folder, chip: chips[0]}
	k.Probe = probe.New(k.read)
	return k, nil
}

// kernelName is how the kernel spells a ROM code: the family, then the serial number.
func kernelName(device string) string {
	device = strings.TrimPrefix(strings.ToLower(device), "0x")
	if len(device) == 16 && !strings.Contains(device, "-") {
		return device[14:] + "-" + device[2:14]
	}
	return device
}

// Chip is the kernel's name of the chip.
func (k *Kernel) Chip() string { return k.chip }

// read opens the file anew: that is what makes the kernel start a conversion. It
// takes as long as the conversion.
func (k *Kernel) read(context.Context) (unit.Celsius, error) {
	text, err := fs.ReadFile(k.folder, path.Join(k.chip, "w1_slave"))
	if err != nil {
		return 0, fmt.Errorf("read %s: %w: %w", k.chip, hal.ErrNoReading, err)
	}
	value, err := parseKernel(string(text))
	if err != nil {
		return 0, fmt.Errorf("read %s: %w", k.chip, err)
	}
	return value, nil
}

// parseKernel takes the two lines of the file: the scratchpad with the kernel's word
// on its check sum, and the kernel's own decoding. After a wrong check sum the second
// line repeats what was read before; it is not used but for comparison.
func parseKernel(text string) (unit.Celsius, error) {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	if len(lines) != 2 {
		return 0, kernelError(text, "two lines were expected")
	}
	sum, found := strings.CutSuffix(strings.TrimSpace(lines[0]), "YES")
	if !found {
		return 0, kernelError(text, "the kernel says that the check sum is wrong")
	}
	digits, _, found := strings.Cut(sum, ":")
	pad, err := hex.DecodeString(strings.ReplaceAll(digits, " ", ""))
	if !found || err != nil || len(pad) != len(scratchpad{}) {
		return 0, kernelError(text, "nine bytes in hexadecimal were expected")
	}
	value, err := scratchpad(pad).celsius()
	if err != nil {
		return 0, err
	}
	return value, confirm(text, lines[1], value)
}

// confirm compares with the kernel's decoding, in thousandths of a degree.
func confirm(text, line string, value unit.Celsius) error {
	_, digits, found := strings.Cut(line, "t=")
	thousandths, err := strconv.Atoi(strings.TrimSpace(digits))
	if !found || err != nil {
		return kernelError(text, "t= and thousandths of a degree were expected")
	}
	if math.Abs(float64(value)*1000-float64(thousandths)) > 1 {
		return kernelError(text, fmt.Sprintf("the bytes say %g °C, the kernel %d thousandths", float64(value), thousandths))
	}
	return nil
}

func kernelError(text, why string) error {
	return fmt.Errorf("%q: %w: %w", text[:min(len(text), 160)], hal.ErrNoReading, errors.New(why))
}
