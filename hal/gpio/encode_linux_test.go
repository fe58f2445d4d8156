package gpio

import (
	"context"
	"encoding/binary"
	"errors"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"anodized/hal"
)

// The sizes and numbers of the kernel's interface: those of its own header, compiled
// independently on a 64-bit machine. No structure holds a pointer.
func TestSizesAndNumbersOfTheKernelsInterface(t *testing.T) {
	assert.EqualValues(t, 592, unsafe.Sizeof(unix.GPIOV2LineRequest{}))
	assert.EqualValues(t, 272, unsafe.Sizeof(unix.GPIOV2LineConfig{}))
	assert.EqualValues(t, 256, unsafe.Sizeof(unix.GPIOV2LineInfo{}))
	assert.EqualValues(t, 68, unsafe.Sizeof(unix.GPIOChipInfo{}))
	assert.EqualValues(t, 16, unsafe.Sizeof(unix.GPIOV2LineValues{}))
	assert.EqualValues(t, 48, eventSize)
	assert.EqualValues(t, uint32(0xC250B407), uint32(unix.GPIO_V2_GET_LINE_IOCTL))
	assert.EqualValues(t, uint32(0xC010B40E), uint32(unix.GPIO_V2_LINE_GET_VALUES_IOCTL))
	assert.EqualValues(t, uint32(0xC010B40F), uint32(unix.GPIO_V2_LINE_SET_VALUES_IOCTL))
	assert.EqualValues(t, uint32(0xC100B405), uint32(unix.GPIO_V2_GET_LINEINFO_IOCTL))
	var r unix.GPIOV2LineRequest
	assert.EqualValues(t, 288, unsafe.Offsetof(r.Config))
	assert.EqualValues(t, 560, unsafe.Offsetof(r.Num_lines))
	assert.EqualValues(t, 588, unsafe.Offsetof(r.Fd))
	for bit, flag := range map[int]uint64{1: flagActiveLow, 2: flagInput, 3: flagOutput, 4: flagEdgeRising, 5: flagEdgeFalling,
		8: flagPullUp, 9: flagPullDown, 10: flagBiasDisabled} {
		assert.Equal(t, uint64(1)<<bit, flag)
	}
}

func TestLidSwitchIsOneRequestWithBothEdges(t *testing.T) {
	asked, err := encode(InterlockRequest([2]string{"A", "B"}, Wiring{ClosedLow: true, Bias: BiasPullUp}), []uint32{17, 4})
	require.NoError(t, err)
	assert.EqualValues(t, 2, asked.Num_lines)
	assert.Equal(t, []uint32{17, 4, 0}, asked.Offsets[:3])
	assert.Equal(t, uint64(1<<1|1<<2|1<<4|1<<5|1<<8), asked.Config.Flags)
	assert.Zero(t, asked.Config.Num_attrs, "nothing is debounced by the kernel")
	assert.Equal(t, "anodized lid switch", text(asked.Consumer[:]))
	assert.Zero(t, asked.Event_buffer_size)
}

func TestContactorIsAskedForWithItsFirstLevels(t *testing.T) {
	asked, err := encode(ContactorRequest(wiring()), []uint32{5, 6, 7})
	require.NoError(t, err)
	assert.Equal(t, uint64(1<<3), asked.Config.Flags)
	require.EqualValues(t, 3, asked.Config.Num_attrs)
	attribute := func(n int) (id uint32, value, mask uint64) {
		a := asked.Config.Attrs[n]
		return a.Attr.Id, a.Attr.Flags, a.Mask
	}
	id, value, mask := attribute(0)
	assert.Equal(t, []uint64{1, 1<<1 | 1<<3, 0b010}, []uint64{uint64(id), value, mask}, "the drop line is active low")
	id, value, mask = attribute(1)
	assert.Equal(t, []uint64{1, 1<<2 | 1<<9, 0b100}, []uint64{uint64(id), value, mask}, "the mirror contact is an input")
	id, value, mask = attribute(2)
	assert.Equal(t, []uint64{2, 0b010, 0b011}, []uint64{uint64(id), value, mask}, "pulse low, one-shot cleared")
}

func TestRequestsThatCannotBe(t *testing.T) {
	assert.ErrorIs(t, Request{}.check(), hal.ErrRange)
	assert.ErrorIs(t, Request{Lines: make([]Line, 65)}.check(), hal.ErrRange)
	assert.ErrorIs(t, Request{Lines: []Line{{Name: "A"}, {Name: "A"}}}.check(), hal.ErrRange)
	assert.NoError(t, Request{Lines: []Line{{Name: "A"}, {Name: "B"}}}.check())
	assert.ErrorIs(t, Wiring{ClosedLow: true, Bias: BiasPullDown}.Check(), hal.ErrRange)
	assert.ErrorIs(t, Wiring{Bias: BiasPullUp}.Check(), hal.ErrRange)
	assert.NoError(t, Wiring{ClosedLow: true, Bias: BiasPullUp}.Check())
	assert.NoError(t, Wiring{Bias: BiasNone}.Check())
}

func TestLabels(t *testing.T) {
	labels := []string{"", "LID-A", "TWICE", "TWICE", ""}
	find := func(name string) (uint32, error) {
		return named(uint32(len(labels)), name, func(offset uint32) (string, error) { return labels[offset], nil })
	}
	offset, err := find("LID-A")
	require.NoError(t, err)
	assert.EqualValues(t, 1, offset)
	_, err = find("TWICE")
	require.ErrorIs(t, err, hal.ErrRange)
	_, err = find("NOBODY")
	require.ErrorIs(t, err, errNoLine)
	_, err = named(1, "A", func(uint32) (string, error) { return "", gone(unix.ENODEV) })
	require.ErrorIs(t, err, hal.ErrGone)
}

func TestErrorsOfTheKernel(t *testing.T) {
	for _, lost := range []error{unix.ENODEV, unix.ENXIO, unix.EIO} {
		assert.ErrorIs(t, gone(lost), hal.ErrGone)
		assert.ErrorIs(t, gone(lost), lost)
	}
	assert.ErrorIs(t, gone(unix.EBUSY), hal.ErrRefused)
	assert.NoError(t, gone(nil))
	_, err := Open(t.TempDir() + "/gpiochip9")
	assert.ErrorIs(t, err, hal.ErrGone)
}

// A pipe stands for the descriptor of the lines: reading, waiting and its end are the
// kernel's own; only what is in it comes from us.
func pipeLines(t *testing.T) (lines *handle, kernel int) {
	t.Helper()
	var ends [2]int
	require.NoError(t, unix.Pipe2(ends[:], unix.O_CLOEXEC))
	lines, err := newHandle(ends[0], []uint32{17, 4})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, lines.Close()) })
	return lines, ends[1]
}

func event(kind, offset, sequence uint32) []byte {
	raw := make([]byte, eventSize)
	binary.NativeEndian.PutUint64(raw, 1_500_000)
	binary.NativeEndian.PutUint32(raw[8:], kind)
	binary.NativeEndian.PutUint32(raw[12:], offset)
	binary.NativeEndian.PutUint32(raw[16:], sequence)
	return raw
}

func TestEdgesFromADescriptor(t *testing.T) {
	lines, kernel := pipeLines(t)
	_, err := unix.Write(kernel, append(event(2, 4, 1), event(1, 17, 2)...))
	require.NoError(t, err)
	var edges [8]Edge
	n, err := lines.Edges(t.Context(), edges[:])
	require.NoError(t, err)
	assert.Equal(t, []Edge{{Line: 1, Sequence: 1, At: 1500 * time.Microsecond},
		{Line: 0, Active: true, Sequence: 2, At: 1500 * time.Microsecond}}, edges[:n])
	for _, foreign := range [][]byte{event(3, 4, 3), event(1, 5, 3), event(1, 4, 3)[:40]} {
		_, err := unix.Write(kernel, foreign)
		require.NoError(t, err)
		_, err = lines.Edges(t.Context(), edges[:])
		require.ErrorIs(t, err, hal.ErrDesync)
	}
	require.NoError(t, unix.Close(kernel))
	_, err = lines.Edges(t.Context(), edges[:])
	require.ErrorIs(t, err, hal.ErrGone, "a hang-up ends the wait")
}

func TestWaitForEdgesEndsWithItsContext(t *testing.T) {
	lines, kernel := pipeLines(t)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		_, err := lines.Edges(ctx, make([]Edge, 1))
		ended <- err
	}()
	cancel()
	assert.ErrorIs(t, <-ended, context.Canceled)
	require.NoError(t, unix.Close(kernel))
}

func TestDescriptorThatIsNoChip(t *testing.T) {
	lines, kernel := pipeLines(t)
	_, err := lines.Values()
	require.ErrorIs(t, err, unix.ENOTTY)
	require.ErrorIs(t, lines.Set(1, 1), unix.ENOTTY)
	require.NoError(t, unix.Close(kernel))
}

func FuzzEdges(f *testing.F) {
	f.Add(event(1, 17, 1))
	f.Add(event(2, 4, 9)[:47])
	f.Fuzz(func(t *testing.T, raw []byte) {
		h := &handle{offsets: []uint32{17, 4}}
		raw = raw[:min(len(raw), 16*eventSize)]
		var edges [16]Edge
		n, err := h.decode(raw, edges[:])
		for _, edge := range edges[:n] {
			require.True(t, edge.Line == 0 || edge.Line == 1)
		}
		require.True(t, err == nil || errors.Is(err, hal.ErrDesync))
	})
}
