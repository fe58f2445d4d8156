package bench

import (
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestAnotherUsersProcessIsSeen: whose lock files are in another folder.
func TestAnotherUsersProcessIsSeen(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	held, err := takeLock(t.Context(), supplyAt("tcp://127.0.0.1:5028"))
	require.NoError(t, err)
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	_, err = takeLock(t.Context(), supplyAt("tcp://localhost:5028"))
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, strconv.Itoa(os.Getpid()))
	require.NoError(t, held.Close())
}
