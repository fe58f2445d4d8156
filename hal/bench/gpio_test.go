package bench

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/gpio"
	"anodized/profiles"
)

// shelf is a computer with two GPIO chips in memory. What is done with them is
// written down in order.
type shelf struct {
	said   []string
	labels map[string][]string // of each chip
	taken  map[string]bool     // lines that another program has
}

func newShelf() *shelf {
	return &shelf{taken: map[string]bool{}, labels: map[string][]string{
		"/dev/gpiochip0": {"LID-A", "LED"},
		"/dev/gpiochip1": {"LID-A", "LID-B", "STOP", "CONTACTOR-PULSE", "CONTACTOR-DROP", "CONTACTOR-MIRROR", "RED"},
	}}
}

func (s *shelf) chips() chips {
	return chips{list: func() ([]string, error) { return []string{"/dev/gpiochip1", "/dev/gpiochip0"}, nil },
		open: func(path string) (gpio.Chip, error) {
			if s.labels[path] == nil {
				return nil, fmt.Errorf("%w: no %s", hal.ErrGone, path)
			}
			s.said = append(s.said, "open "+path)
			return &chip{s, path}, nil
		}}
}

type chip struct {
	shelf *shelf
	path  string
}

func (c *chip) Has(name string) (bool, error) {
	for _, label := range c.shelf.labels[c.path] {
		if label == name {
			return true, nil
		}
	}
	return false, nil
}

func (c *chip) Request(r gpio.Request) (gpio.Requested, error) {
	for _, line := range r.Lines {
		if c.shelf.taken[line.Name] {
			return nil, fmt.Errorf("another program has this line: %w", hal.ErrRefused)
		}
	}
	c.shelf.said = append(c.shelf.said, "request "+names(r))
	held := &held{shelf: c.shelf, what: names(r)}
	for i, line := range r.Lines {
		if line.Output && line.First {
			held.levels |= 1 << i
		}
	}
	return held, nil
}

func (c *chip) Close() error { c.shelf.said = append(c.shelf.said, "close "+c.path); return nil }

type held struct {
	shelf  *shelf
	what   string
	levels uint64
}

func (h *held) Values() (uint64, error) { return h.levels | 3<<30, nil }

func (h *held) Set(mask, bits uint64) error {
	h.levels = h.levels&^mask | bits&mask
	h.shelf.said = append(h.shelf.said, fmt.Sprintf("set %s %b", h.what, h.levels))
	return nil
}

func (h *held) Edges(ctx context.Context, _ []gpio.Edge) (int, error) {
	<-ctx.Done()
	return 0, ctx.Err()
}

func (h *held) Close() error { h.shelf.said = append(h.shelf.said, "give back "+h.what); return nil }

func contactorEntry() profiles.ContactorEntry {
	return profiles.ContactorEntry{Driver: "gpio", PulseLine: "CONTACTOR-PULSE", DropLine: "CONTACTOR-DROP",
		FeedbackLine: "CONTACTOR-MIRROR", OneShot: 1e9, DropLevel: "low", Wiring: profiles.WiringEntry{Closed: "high", Bias: "pull-down"}}
}

func TestChainOnGPIOLines(t *testing.T) {
	shelf := newShelf()
	set := &Set{log: slog.New(slog.DiscardHandler), chips: shelf.chips()}
	require.NoError(t, openContactor(t.Context(), set, contactorEntry()))
	require.NoError(t, openLid(t.Context(), set, profiles.InterlockEntry{Driver: "gpio", Lines: [2]string{"LID-A", "LID-B"}}))
	require.NoError(t, openStop(t.Context(), set, profiles.StopEntry{Driver: "gpio", Lines: []string{"STOP"}}))
	require.NoError(t, openBeacon(t.Context(), set, profiles.BeaconEntry{Driver: "gpio", Chip: "/dev/gpiochip1", Lamps: []profiles.LampEntry{{Lamp: "red", Line: "RED"}}}))
	assert.EqualValues(t, 1e9, set.OneShot)
	require.NoError(t, set.Beacon.Show(hal.SignalTrip))
	require.NoError(t, set.Contactor.Beat())
	require.NoError(t, set.Close())
	lines := "CONTACTOR-PULSE, CONTACTOR-DROP, CONTACTOR-MIRROR"
	assert.Equal(t, []string{"open /dev/gpiochip0", "close /dev/gpiochip0", "open /dev/gpiochip1", "request " + lines,
		"close /dev/gpiochip1", "set " + lines + " 10"}, shelf.said[:6], "the chip that has all the lines, and the drop first of all")
	last := shelf.said[len(shelf.said)-6:]
	assert.Equal(t, []string{"set " + lines + " 10", "set RED 0", "give back RED", "give back STOP", "give back LID-A, LID-B", "give back " + lines}, last)
}

func TestLinesThatCannotBeHad(t *testing.T) {
	shelf := newShelf()
	set := &Set{log: slog.New(slog.DiscardHandler), chips: shelf.chips()}
	_, err := set.request("", gpio.StopRequest([]string{"STOP", "LED"}, gpio.Wiring{}))
	require.ErrorIs(t, err, hal.ErrGone, "the lines of one entry are on one chip")
	require.ErrorContains(t, err, "STOP, LED")
	_, err = set.request("/dev/gpiochip7", gpio.StopRequest([]string{"STOP"}, gpio.Wiring{}))
	require.ErrorIs(t, err, hal.ErrGone)
	shelf.taken["STOP"] = true
	_, err = set.request("", gpio.StopRequest([]string{"STOP"}, gpio.Wiring{}))
	require.ErrorIs(t, err, hal.ErrRefused)
	set.chips.list = func() ([]string, error) { return nil, errors.New("no such folder") }
	_, err = set.request("", gpio.StopRequest([]string{"STOP"}, gpio.Wiring{}))
	require.ErrorContains(t, err, "look for GPIO chips")
	assert.Empty(t, set.closers)
}

// A contactor that cannot be dropped is found before the supply is touched.
func TestContactorComesBeforeTheSupply(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	instrument, address := startInstrument(t)
	b, entry := benchOf(address, startLid(t)), contactorEntry()
	entry.Wiring.Chip = "/dev/no-such-chip"
	b.Contactor = &entry
	_, err := Open(t.Context(), b, nil)
	require.ErrorIs(t, err, hal.ErrGone)
	require.ErrorContains(t, err, "contactor: ")
	instrument.see(func() { require.Empty(t, instrument.heard) })
}
