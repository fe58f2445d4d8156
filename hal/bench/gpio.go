package bench

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"anodized/hal"
	"anodized/hal/gpio"
	"anodized/profiles"
)

// chips finds and opens GPIO chips.
type chips struct {
	list func() ([]string, error)
	open func(path string) (gpio.Chip, error)
}

func kernelChips() chips {
	return chips{list: func() ([]string, error) { return filepath.Glob("/dev/gpiochip*") }, open: gpio.Open}
}

// request opens the chip that has all these lines and asks it for them.
func (s *Set) request(path string, r gpio.Request) (gpio.Lines, error) {
	chip, err := s.chips.with(path, r)
	if err != nil {
		return nil, err
	}
	lines, err := chip.Request(r)
	if closed := chip.Close(); err == nil && closed != nil {
		err = errors.Join(closed, lines.Close())
	}
	if err != nil {
		return nil, err
	}
	s.keep(lines)
	return lines, nil
}

// with opens the named chip, or looks through all of them for the labels.
func (c chips) with(path string, r gpio.Request) (gpio.Chip, error) {
	if path != "" {
		return c.open(path)
	}
	paths, err := c.list()
	if err != nil {
		return nil, fmt.Errorf("look for GPIO chips: %w", err)
	}
	slices.Sort(paths)
	for _, path := range paths {
		chip, has, err := c.try(path, r)
		if err != nil || has {
			return chip, err
		}
	}
	return nil, fmt.Errorf("no chip has the lines %s (looked at %d chips): %w", names(r), len(paths), hal.ErrGone)
}

func (c chips) try(path string, r gpio.Request) (gpio.Chip, bool, error) {
	chip, err := c.open(path)
	if err != nil {
		return nil, false, err
	}
	for _, line := range r.Lines {
		if has, err := chip.Has(line.Name); err != nil || !has {
			return nil, false, errors.Join(err, chip.Close())
		}
	}
	return chip, true, nil
}

func names(r gpio.Request) string {
	var all []string
	for _, line := range r.Lines {
		all = append(all, line.Name)
	}
	return strings.Join(all, ", ")
}

func wiring(w profiles.WiringEntry) gpio.Wiring {
	bias := map[string]gpio.Bias{"pull-up": gpio.BiasPullUp, "pull-down": gpio.BiasPullDown}[w.Bias]
	return gpio.Wiring{ClosedLow: w.Closed == "low", Bias: bias}
}

// checkLines refuses what the loader lets nobody write, for benches made otherwise:
// a pull that makes a loose wire read as closed, and numbers without a chip.
func checkLines(entry, chip string, w *profiles.WiringEntry, lines ...string) error {
	if w != nil {
		if err := wiring(*w).Check(); err != nil {
			return fmt.Errorf("%w: %s: %w", ErrFile, entry, err)
		}
	}
	for _, name := range lines {
		if _, err := strconv.Atoi(name); err == nil && chip == "" {
			return fmt.Errorf("%w: %s: line %s is a number, so the chip must be named, such as chip: /dev/gpiochip0", ErrFile, entry, name)
		}
	}
	return nil
}

func openLid(ctx context.Context, set *Set, entry profiles.InterlockEntry) error {
	lines, err := set.request(entry.Wiring.Chip, gpio.InterlockRequest(entry.Lines, wiring(entry.Wiring)))
	if err != nil {
		return err
	}
	lid := gpio.NewInterlock(lines)
	if _, err := lid.Channels(ctx); err != nil {
		return err
	}
	set.keep(watching(lid.Watch))
	set.Interlock = lid
	return nil
}

func openStop(ctx context.Context, set *Set, entry profiles.StopEntry) error {
	lines, err := set.request(entry.Wiring.Chip, gpio.StopRequest(entry.Lines, wiring(entry.Wiring)))
	if err != nil {
		return err
	}
	stop := gpio.NewEmergencyStop(lines, len(entry.Lines))
	if _, err := stop.Contacts(ctx); err != nil {
		return err
	}
	set.EmergencyStop = stop
	return nil
}

// openContactor asks for the lines with the one-shot held cleared, so that the bench
// is dead before anything is said to its supply.
func openContactor(ctx context.Context, set *Set, entry profiles.ContactorEntry) error {
	lines, err := set.request(entry.Wiring.Chip, gpio.ContactorRequest(gpio.ContactorWiring{Pulse: entry.PulseLine,
		Drop: entry.DropLine, Mirror: entry.FeedbackLine, DropHigh: entry.DropLevel == "high", Contact: wiring(entry.Wiring)}))
	if err != nil {
		return err
	}
	contactor := gpio.NewContactor(lines)
	set.Contactor, set.OneShot = contactor, entry.OneShot
	if err := contactor.Halt(); err != nil {
		return err
	}
	_, err = contactor.Closed(ctx)
	return err
}

// lampOf are the lamps by their words in a bench file.
var lampOf = map[string]hal.Lamp{"red": hal.Red, "yellow": hal.Yellow, "green": hal.Green, "blue": hal.Blue,
	"white": hal.White, "sounder": hal.Sounder, "chime": hal.Chime}

func openBeacon(_ context.Context, set *Set, entry profiles.BeaconEntry) error {
	var lamps []hal.Lamp
	var names []string
	for _, one := range entry.Lamps {
		lamp, known := lampOf[one.Lamp]
		if !known {
			return fmt.Errorf("%w: beacon: lamp %q is not known", ErrFile, one.Lamp)
		}
		lamps, names = append(lamps, lamp), append(names, one.Line)
	}
	lines, err := set.request(entry.Chip, gpio.BeaconRequest(names, entry.Lit == "low"))
	if err != nil {
		return err
	}
	set.Beacon = gpio.NewBeacon(lines, lamps)
	return nil
}
