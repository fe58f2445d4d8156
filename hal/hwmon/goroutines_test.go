package hwmon

import (
	"os"
	"testing"

	"anodized/hal/haltest/leak"
)

// TestMain lets no test of this package leave a goroutine behind.
func TestMain(m *testing.M) { os.Exit(leak.Main(m)) }
