package bench

import (
	"fmt"
	"os"
	"testing"
)

// TestMain gives the locks of all tests a folder that goes with them.
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
	return m.Run()
}
