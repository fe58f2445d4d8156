package modbus

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzAnswer: whatever comes back, it is an error and open, or it is the answer to
// this very request.
func FuzzAnswer(f *testing.F) {
	f.Add([]byte{0, 1, 0, 0, 0, 4, 1, 2, 1, 3})
	f.Add([]byte{0, 1, 0, 0, 0, 3, 1, 0x82, 2})
	f.Add([]byte{0, 1, 0, 0, 0xFF, 0xFF, 1})
	f.Fuzz(func(t *testing.T, answer []byte) {
		wire := &scripted{answer: answer}
		lid, err := New(Options{Dial: func(context.Context) (Transport, error) { return wire, nil }, Unit: 1, Inputs: [2]int{0, 1}})
		require.NoError(t, err)
		channels, err := lid.Channels(t.Context())
		if err != nil {
			require.Equal(t, [2]bool{}, channels.Closed)
			return
		}
		require.Equal(t, []byte{0, 1, 0, 0, 0, 4, 1, 2, 1}, answer[:9])
		require.Equal(t, [2]bool{answer[9]&1 != 0, answer[9]&2 != 0}, channels.Closed)
	})
}
