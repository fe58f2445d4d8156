package bench

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"periph.io/x/conn/v3/driver/driverreg"
	"periph.io/x/conn/v3/onewire/onewirereg"
	_ "periph.io/x/host/v3/netlink" // registers the kernel's 1-Wire buses

	"anodized/hal"
	"anodized/hal/onewire"
	"anodized/profiles"
)

// openOneWire starts to read a chip, through the kernel's files or on the bus itself.
func openOneWire(ctx context.Context, set *Set, entry profiles.ThermometerEntry) error {
	if entry.Through == "bus" {
		return openOneWireBus(ctx, set, entry)
	}
	thermometer, err := onewire.NewKernel(os.DirFS(set.buses.kernel1Wire), entry.Device)
	if err != nil {
		return err
	}
	// The kernel then looks for conversions that failed, too. Our own look does not
	// depend on it, and older kernels have no such file.
	features := filepath.Join(set.buses.kernel1Wire, thermometer.Chip(), "features")
	if err := os.WriteFile(features, []byte("1"), 0); err != nil {
		set.log.Debug("the kernel's own check of 1-Wire conversions stays as it is", "err", err)
	}
	set.keep(watching(thermometer.Watch))
	set.Thermometer = thermometer
	return nil
}

// openOneWireBus opens the first 1-Wire bus of this computer, which needs the rights
// of its administrator.
func openOneWireBus(_ context.Context, set *Set, entry profiles.ThermometerEntry) error {
	if _, err := driverreg.Init(); err != nil {
		return fmt.Errorf("find the 1-Wire bus: %w: %w", hal.ErrGone, err)
	}
	bus, err := onewirereg.Open("")
	if err != nil {
		return fmt.Errorf("open the 1-Wire bus: %w: %w; is the kernel's w1 driver on?", hal.ErrGone, err)
	}
	set.keep(bus)
	thermometer, err := onewire.New(bus, entry.Device)
	if err != nil {
		return err
	}
	set.keep(watching(thermometer.Watch))
	set.Thermometer = thermometer
	return nil
}

// watch is a goroutine that ends, and has ended, with its Close.
type watch struct {
	cancel context.CancelFunc
	ended  chan struct{}
}

func watching(run func(context.Context)) *watch {
	ctx, cancel := context.WithCancel(context.Background())
	w := &watch{cancel, make(chan struct{})}
	go func() {
		defer close(w.ended)
		run(ctx)
	}()
	return w
}

// watchEnd is how long the end of a watch may take: one conversion and some.
const watchEnd = 2 * time.Second

var errWatch = errors.New("a device does not come back from its bus")

// Close ends the goroutine and waits for its end, but not for a bus that is stuck.
func (w *watch) Close() error {
	w.cancel()
	timer := time.NewTimer(watchEnd)
	defer timer.Stop()
	select {
	case <-w.ended:
		return nil
	case <-timer.C:
		return errWatch
	}
}
