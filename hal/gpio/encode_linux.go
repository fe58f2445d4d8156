package gpio

import (
	"fmt"

	"golang.org/x/sys/unix"

	"anodized/hal"
)

// The flags of a line, by the kernel's interface.
const (
	flagActiveLow uint64 = 1 << (iota + 1)
	flagInput
	flagOutput
	flagEdgeRising
	flagEdgeFalling
	_ // open drain
	_ // open source
	flagPullUp
	flagPullDown
	flagBiasDisabled
)

func (l Line) flags() uint64 {
	flags := uint64(0)
	if l.ActiveLow {
		flags |= flagActiveLow
	}
	if l.Output {
		return flags | flagOutput
	}
	if l.Edges {
		flags |= flagEdgeRising | flagEdgeFalling
	}
	return flags | flagInput | [...]uint64{BiasNone: flagBiasDisabled, BiasPullUp: flagPullUp, BiasPullDown: flagPullDown}[l.Bias]
}

// encode writes a request as the kernel reads it: the flags of the first line for
// all, an attribute for each other set of flags, and one for the first levels.
func encode(r Request, offsets []uint32) (unix.GPIOV2LineRequest, error) {
	asked := unix.GPIOV2LineRequest{Num_lines: uint32(len(r.Lines))}
	copy(asked.Offsets[:], offsets)
	copy(asked.Consumer[:len(asked.Consumer)-1], r.Consumer)
	asked.Config.Flags = r.Lines[0].flags()
	var outputs, active uint64
	others := map[uint64]uint64{}
	var order []uint64
	for i, line := range r.Lines {
		flags, bit := line.flags(), uint64(1)<<i
		if flags != asked.Config.Flags {
			if others[flags] == 0 {
				order = append(order, flags)
			}
			others[flags] |= bit
		}
		if line.Output {
			outputs |= bit
		}
		if line.Output && line.First {
			active |= bit
		}
	}
	for _, flags := range order {
		if err := attribute(&asked.Config, unix.GPIO_V2_LINE_ATTR_ID_FLAGS, flags, others[flags]); err != nil {
			return asked, err
		}
	}
	if outputs == 0 {
		return asked, nil
	}
	return asked, attribute(&asked.Config, unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES, active, outputs)
}

func attribute(config *unix.GPIOV2LineConfig, id uint32, value, mask uint64) error {
	n := int(config.Num_attrs)
	if n == len(config.Attrs) {
		return fmt.Errorf("more than %d kinds of lines in one request: %w", n, hal.ErrRange)
	}
	config.Attrs[n] = unix.GPIOV2LineConfigAttribute{Attr: unix.GPIOV2LineAttribute{Id: id, Flags: value}, Mask: mask}
	config.Num_attrs++
	return nil
}
