package bench

import (
	"fmt"
	"os"
	"testing"

	"anodized/hal/haltest/leak"
)

// TestMain gives the locks of all tests a folder that goes with them, and lets none leave
// a goroutine behind.
func TestMain(m *testing.M) { os.Exit(apart(m)) }

func apart(m *testing.M) int {
	folder, err := os.MkdirTemp("", "anodized-test-")
	if err == nil {
		defer os.RemoveAll(folder)
		err = os.Setenv("XDG_RUNTIME_DIR", folder)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "a folder for locks:", err)
		return 1
	}
	return leak.Main(m)
}
