package bench

import (
	"context"
	"fmt"

	"periph.io/x/conn/v3/driver/driverreg"
	"periph.io/x/conn/v3/onewire/onewirereg"
	_ "periph.io/x/host/v3/netlink" // registers the kernel's 1-Wire buses

	"anodized/hal"
	"anodized/hal/onewire"
	"anodized/profiles"
)

// openOneWire opens the first 1-Wire bus of this computer and starts to read the chip.
func openOneWire(_ context.Context, set *Set, entry profiles.ThermometerEntry) error {
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

// Close ends the goroutine and waits for its end.
func (w *watch) Close() error {
	w.cancel()
	<-w.ended
	return nil
}
