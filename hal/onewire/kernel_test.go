package onewire

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
	"anodized/hal/unit"
)

// fileOf is what the kernel writes of a scratchpad.
func fileOf(pad scratchpad, word string, thousandths int) string {
	digits := strings.TrimSpace(fmt.Sprintf("% x", pad[:]))
	return fmt.Sprintf("%s : crc=%02x %s\n%s t=%d\n", digits, pad[8], word, digits, thousandths)
}

// kernelChips is a folder that the test can write to.
type kernelChips struct {
	mu    sync.Mutex
	files fstest.MapFS
}

func newKernelChips() *kernelChips { return &kernelChips{files: fstest.MapFS{}} }

func (k *kernelChips) Open(name string) (fs.File, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.files.Open(name)
}

func (k *kernelChips) set(name, text string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.files[name+"/w1_slave"] = &fstest.MapFile{Data: []byte(text)}
}

func (k *kernelChips) remove(name string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.files, name+"/w1_slave")
}

const kernelChip = "28-000001318252"

func kernelAt(celsius float64) string {
	code := uint16(int16(math.Round(celsius * 16)))
	return fileOf(withSum(code, 0x0E), "YES", int(int16(code))*1000/16)
}

func TestKernelConformance(t *testing.T) {
	haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ThermometerRig {
		chips := newKernelChips()
		chips.set(kernelChip, kernelAt(23.125))
		thermometer, err := NewKernel(chips, "")
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		t.Cleanup(cancel)
		go thermometer.Watch(ctx)
		return haltest.ThermometerRig{
			Thermometer: thermometer, Bath: 23.125, Settle: time.Millisecond, Wait: wait,
			Break:   func() { chips.remove(kernelChip) },
			SetBath: func(c unit.Celsius) { chips.set(kernelChip, kernelAt(float64(c))) },
		}
	}})
}

// TestKernelFile: the first is 23.125 °C with its check sum computed independently.
func TestKernelFile(t *testing.T) {
	value, err := parseKernel("72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n")
	require.NoError(t, err)
	require.InDelta(t, 23.125, float64(value), 0)
	for _, celsius := range []float64{0.5, -0.0625, -10.125, 0, 100} {
		value, err := parseKernel(kernelAt(celsius))
		require.NoError(t, err)
		require.InDelta(t, celsius, float64(value), 0)
	}
}

func TestKernelFileThatIsNoReading(t *testing.T) {
	good := withSum(0x0172, 0x0E)
	for why, text := range map[string]string{
		"check sum is wrong":  fileOf(good, "NO", 23125), // the second line repeats what it had
		"check sum 58":        strings.ReplaceAll(fileOf(good, "YES", 23125), "57", "58"),
		"85 °C of power-up":   fileOf(withSum(0x0550, 0x0C), "YES", 85000),
		"127.94 °C":           fileOf(withSum(0x07FF, 0x0E), "YES", 127937),
		"configuration byte":  fileOf(scratchpad{}, "YES", 0), // all zeros have a right check sum
		"the kernel 22125":    fileOf(good, "YES", 22125),
		"thousandths":         strings.ReplaceAll(fileOf(good, "YES", 23125), "t=", "T="),
		"nine bytes":          strings.Replace(fileOf(good, "YES", 23125), "72 ", "", 1),
		"two lines":           "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES",
		"two lines were expe": "",
	} {
		_, err := parseKernel(text)
		require.ErrorIs(t, err, hal.ErrNoReading, text)
		require.ErrorContains(t, err, why)
	}
	true85, err := parseKernel(fileOf(withSum(0x0550, 0x10), "YES", 85000))
	require.NoError(t, err, "a bath may be at 85 °C")
	require.InDelta(t, 85, float64(true85), 0)
}

func TestKernelChipIsFoundByItsName(t *testing.T) {
	chips := newKernelChips()
	_, err := NewKernel(chips, "")
	require.ErrorIs(t, err, hal.ErrGone)
	chips.set(kernelChip, kernelAt(20))
	chips.set("10-000000000001", kernelAt(20)) // another kind of chip
	for _, device := range []string{"", kernelChip, "28-000001318252", "7A00000131825228", "0x7a00000131825228"} {
		found, err := NewKernel(chips, device)
		require.NoError(t, err, device)
		require.Equal(t, kernelChip, found.Chip())
	}
	_, err = NewKernel(chips, "28-000001318253")
	require.ErrorContains(t, err, "0 DS18B20")
	chips.set("28-000000000009", kernelAt(20))
	_, err = NewKernel(chips, "")
	require.ErrorContains(t, err, "2 DS18B20")
	_, err = NewKernel(fstest.MapFS{".": &fstest.MapFile{}}, "")
	require.ErrorIs(t, err, hal.ErrGone)
}

// FuzzParseKernel: what is taken is a temperature of the chip's range.
func FuzzParseKernel(f *testing.F) {
	f.Add(kernelAt(23.125))
	f.Add(fileOf(scratchpad{}, "NO", 85000))
	f.Fuzz(func(t *testing.T, text string) {
		value, err := parseKernel(text)
		if err == nil {
			require.GreaterOrEqual(t, float64(value), -55.0)
			require.LessOrEqual(t, float64(value), 125.0)
			require.Contains(t, text, "YES")
		}
	})
}

func BenchmarkParseKernel(b *testing.B) {
	text := kernelAt(23.125)
	for b.Loop() {
		if _, err := parseKernel(text); err != nil {
			b.Fatal(err)
		}
	}
}
