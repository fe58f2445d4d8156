package gpio

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"

	"anodized/hal"
)

// handle is lines that the kernel gave.
type handle struct {
	file    *os.File
	offsets []uint32
}

// newHandle takes a descriptor over. Waiting for edges must be interruptible.
func newHandle(fd int, offsets []uint32) (*handle, error) {
	if err := unix.SetNonblock(fd, true); err != nil {
		return nil, errors.Join(fmt.Errorf("prepare the lines for waiting: %w", err), unix.Close(fd))
	}
	file := os.NewFile(uintptr(fd), "gpio lines")
	if err := file.SetReadDeadline(time.Time{}); err != nil {
		return nil, errors.Join(fmt.Errorf("the lines cannot be waited for: %w", err), file.Close())
	}
	return &handle{file, offsets}, nil
}

func (h *handle) Close() error { return h.file.Close() }

func (h *handle) mask() uint64 { return 1<<len(h.offsets) - 1 }

func (h *handle) Values() (uint64, error) {
	values := unix.GPIOV2LineValues{Mask: h.mask()}
	err := control(h.file, unix.GPIO_V2_LINE_GET_VALUES_IOCTL, unsafe.Pointer(&values))
	return values.Bits & h.mask(), err
}

func (h *handle) Set(mask, bits uint64) error {
	values := unix.GPIOV2LineValues{Mask: mask & h.mask(), Bits: bits}
	return control(h.file, unix.GPIO_V2_LINE_SET_VALUES_IOCTL, unsafe.Pointer(&values))
}

const eventSize = int(unsafe.Sizeof(unix.GPIOV2LineEvent{}))

// Edges reads what the kernel has kept, or waits for it. A chip that goes away ends
// the wait.
func (h *handle) Edges(ctx context.Context, into []Edge) (int, error) {
	stop := context.AfterFunc(ctx, func() {
		_ = h.file.SetReadDeadline(time.Unix(1, 0)) // fails only on a closed file, which ends the wait too
	})
	defer stop()
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	raw := make([]byte, len(into)*eventSize)
	n, err := h.file.Read(raw)
	switch {
	case ctx.Err() != nil:
		return 0, ctx.Err()
	case errors.Is(err, io.EOF):
		return 0, fmt.Errorf("%w: the lines were taken away", hal.ErrGone)
	case err != nil:
		return 0, gone(err)
	case n%eventSize != 0:
		return 0, fmt.Errorf("%d bytes are no whole edges: %w", n, hal.ErrDesync)
	}
	return h.decode(raw[:n], into)
}

func (h *handle) decode(raw []byte, into []Edge) (int, error) {
	n := 0
	for ; len(raw) >= eventSize; raw = raw[eventSize:] {
		edge, err := h.edge(raw)
		if err != nil {
			return n, err
		}
		into[n] = edge
		n++
	}
	return n, nil
}

// edge reads one event: time, kind, line, number.
func (h *handle) edge(raw []byte) (Edge, error) {
	order := binary.NativeEndian
	kind, offset := order.Uint32(raw[8:]), order.Uint32(raw[12:])
	edge := Edge{At: time.Duration(order.Uint64(raw)), Sequence: order.Uint32(raw[16:]), Line: -1,
		Active: kind == unix.GPIO_V2_LINE_EVENT_RISING_EDGE}
	for i, own := range h.offsets {
		if own == offset {
			edge.Line = i
		}
	}
	if edge.Line < 0 || kind != unix.GPIO_V2_LINE_EVENT_RISING_EDGE && kind != unix.GPIO_V2_LINE_EVENT_FALLING_EDGE {
		return edge, fmt.Errorf("an edge of kind %d at line %d: %w", kind, offset, hal.ErrDesync)
	}
	return edge, nil
}
