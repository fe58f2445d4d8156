package watchdog

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// chip is what a driver says, for a device that is a file.
type chip struct {
	options         uint32
	seconds, before int
	boot            int
	deaf            error
	refuses         error
	fed             int
}

func (c *chip) information(int) (*unix.WatchdogInfo, error) {
	return &unix.WatchdogInfo{Options: c.options}, c.deaf
}
func (c *chip) bootStatus(int) (int, error) { return c.boot, nil }
func (c *chip) setTimeout(_, seconds int) error {
	c.before = seconds
	if c.refuses != nil {
		return c.refuses
	}
	if c.seconds == 0 {
		c.seconds = seconds
	}
	return nil
}
func (c *chip) timeout(int) (int, error) { return c.seconds, nil }
func (c *chip) keepAlive(int) error      { c.fed++; return nil }

func deviceFile(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "watchdog")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	return path
}

func TestDeviceIsArmedFedAndLetGo(t *testing.T) {
	path := deviceFile(t)
	c := &chip{options: unix.WDIOF_SETTIMEOUT | unix.WDIOF_MAGICCLOSE, boot: unix.WDIOF_CARDRESET}
	armed, granted, err := openWith(path, 15*time.Second, quiet(), c)
	require.NoError(t, err)
	assert.Equal(t, 15*time.Second, granted)
	d := keep(armed, granted, quiet())
	d.Beat()
	require.NoError(t, d.Close(true))
	assert.Equal(t, 1, c.fed)
	written, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "V", string(written), "the magic close, and nothing before it")
}

func TestEndThatIsNotCleanWritesNoMagicClose(t *testing.T) {
	path := deviceFile(t)
	armed, granted, err := openWith(path, 15*time.Second, quiet(), &chip{options: unix.WDIOF_SETTIMEOUT})
	require.NoError(t, err)
	require.NoError(t, keep(armed, granted, quiet()).Close(false))
	written, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Empty(t, written)
}

func TestDriversAndTheirTimes(t *testing.T) {
	for name, c := range map[string]struct {
		chip *chip
		want time.Duration
		says string
	}{
		"takes what was asked":              {&chip{options: unix.WDIOF_SETTIMEOUT}, 15 * time.Second, ""},
		"rounds":                            {&chip{options: unix.WDIOF_SETTIMEOUT, seconds: 16}, 16 * time.Second, ""},
		"cannot be set, and has a good one": {&chip{seconds: 10, refuses: unix.EOPNOTSUPP}, 10 * time.Second, ""},
		"cannot be set, and is too slow":    {&chip{seconds: 120, refuses: unix.EOPNOTSUPP}, 0, "it keeps 2m0s where 15s was asked for"},
		"refuses":                           {&chip{options: unix.WDIOF_SETTIMEOUT, refuses: unix.EINVAL}, 0, "set its time to 15s"},
		"is deaf":                           {&chip{deaf: errors.New("inappropriate ioctl for device")}, 0, "no watchdog"},
	} {
		t.Run(name, func(t *testing.T) {
			armed, granted, err := openWith(deviceFile(t), 15*time.Second, quiet(), c.chip)
			if c.says != "" {
				require.ErrorContains(t, err, c.says)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, c.want, granted)
			require.NoError(t, armed.Close())
		})
	}
}

// The real ioctl, on files that are no watchdog.
func TestFileThatIsNoWatchdogIsRefused(t *testing.T) {
	_, err := Open(deviceFile(t), Usual, quiet())
	require.ErrorIs(t, err, ErrNone)
	_, err = Open("/dev/null", Usual, quiet())
	require.ErrorIs(t, err, ErrNone)
	_, err = Open(filepath.Join(t.TempDir(), "none"), Usual, quiet())
	require.ErrorIs(t, err, os.ErrNotExist)
}
