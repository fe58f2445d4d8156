package gpio

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEnableContact: open from the first moment on, and asked, never remembered.
func TestEnableContact(t *testing.T) {
	b := newBoard()
	contact := NewEnable(b.request(EnableRequest("SUPPLY-ENABLE", false)))
	says := func(want bool) {
		t.Helper()
		closed, err := contact.Closed()
		require.NoError(t, err)
		require.Equal(t, want, closed)
	}
	says(false)
	require.NoError(t, contact.Set(true))
	says(true)
	require.NoError(t, contact.Set(false))
	says(false)
	b.unplug()
	require.Error(t, contact.Set(false))
	_, err := contact.Closed()
	require.Error(t, err)
	require.True(t, EnableRequest("17", true).Lines[0].ActiveLow)
}
