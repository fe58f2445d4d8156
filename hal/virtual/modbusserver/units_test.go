package modbusserver

import (
	"encoding/binary"
	"io"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// thinker is two units: the first takes its time.
type thinker struct{}

func (thinker) Connected() bool { return true }
func (thinker) Disconnected()   {}

func (thinker) Request(unit byte, pdu []byte) Reply {
	if unit == 1 {
		return Reply{PDU: pdu, Delay: 400 * time.Millisecond}
	}
	return Reply{PDU: pdu}
}

// TestUnitsAreDevicesOfTheirOwn: one that takes its time keeps the other one from nothing,
// and answers its own questions in their order.
func TestUnitsAreDevicesOfTheirOwn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		done := make(chan error, 1)
		go func() { done <- ServeLine(t.Context(), far, thinker{}) }()
		framed := func(unit, number byte) []byte {
			b := []byte{unit, diagnostics, 0, 0, 0, number}
			return binary.LittleEndian.AppendUint16(b, checkSum(b))
		}
		ask := func(frame []byte) {
			_, err := near.Write(frame)
			require.NoError(t, err)
			synctest.Wait()
		}
		began := time.Now()
		ask(framed(1, 1))
		ask(framed(1, 2))
		ask(framed(2, 3))
		for _, want := range []struct {
			frame []byte
			after time.Duration
		}{{framed(2, 3), 0}, {framed(1, 1), 400 * time.Millisecond}, {framed(1, 2), 800 * time.Millisecond}} {
			got := make([]byte, 8)
			_, err := io.ReadFull(near, got)
			require.NoError(t, err)
			require.Equal(t, want.frame, got)
			require.Equal(t, want.after, time.Since(began))
		}
		require.NoError(t, near.Close())
		require.NoError(t, far.Close())
		require.NoError(t, <-done)
	})
}
