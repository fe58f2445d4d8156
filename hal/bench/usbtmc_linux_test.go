package bench

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

// TestUSBDeviceBySerialNumber lays out the folders as the kernel does.
func TestUSBDeviceBySerialNumber(t *testing.T) {
	root := t.TempDir()
	class := filepath.Join(root, "class", "usbmisc")
	for name, serial := range map[string]string{"usbtmc0": "A1", "usbtmc3": "B2", "usbtmc4": ""} {
		usbInterface := filepath.Join(root, "devices", "usb1", name+"-device", "1-1:1.0")
		entry := filepath.Join(usbInterface, "usbmisc", name)
		require.NoError(t, os.MkdirAll(entry, 0o700))
		require.NoError(t, os.Symlink(usbInterface, filepath.Join(entry, "device")))
		if serial != "" {
			require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(usbInterface), "serial"), []byte(serial+"\n"), 0o600))
		}
		require.NoError(t, os.MkdirAll(class, 0o700))
		require.NoError(t, os.Symlink(entry, filepath.Join(class, name)))
	}
	path, err := findUSB(class, "B2")
	require.NoError(t, err)
	require.Equal(t, "/dev/usbtmc3", path)
	_, err = findUSB(class, "C3")
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, `"A1" "B2"`)
}

func TestWhatIsNoUSBDevice(t *testing.T) {
	_, err := openUSB(profiles.Address{Scheme: "usbtmc", Device: "/dev/null"})
	require.ErrorContains(t, err, "is it a USB test-and-measurement device?")
	_, err = openUSB(profiles.Address{Scheme: "usbtmc", Device: filepath.Join(t.TempDir(), "none")})
	require.ErrorIs(t, err, os.ErrNotExist)
}
