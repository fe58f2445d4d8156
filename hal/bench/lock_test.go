package bench

import (
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

func supplyAt(address string) profiles.SupplyEntry {
	return profiles.SupplyEntry{Driver: "scpi", Address: address}
}

// TestOneInstrumentIsOneBenchHoweverItsAddressIsSpelt: whoever comes second by
// another spelling is told who was first.
func TestOneInstrumentIsOneBenchHoweverItsAddressIsSpelt(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	spellings := []string{
		"tcp://127.0.0.1:5025", "tcp://localhost:5025", "tcp://LocalHost.:5025", "tcp://[::1]:5025", "tcp://127.0.0.1:05025",
		"rtu+tcp://127.9.8.7:5025", "tcp://[::ffff:127.0.0.1]:5025", "tcp://0.0.0.0:5025", "tcp://bench.localhost:5025",
	}
	for _, first := range spellings {
		held, err := takeLock(t.Context(), supplyAt(first))
		require.NoError(t, err, first)
		for _, second := range spellings {
			_, err := takeLock(t.Context(), supplyAt(second))
			require.ErrorIs(t, err, ErrInUse, "%s after %s", second, first)
			require.ErrorContains(t, err, strconv.Itoa(os.Getpid()))
		}
		for _, other := range []string{"tcp://127.0.0.1:5026", "tcp://192.0.2.5:5025", "serial:///dev/ttyNONE"} {
			free, err := takeLock(t.Context(), supplyAt(other))
			require.NoError(t, err, "%s is another instrument than %s", other, first)
			require.NoError(t, free.Close())
		}
		require.NoError(t, held.Close())
	}
}

func TestAnAddressOfAnInterfaceIsThisComputer(t *testing.T) {
	own, err := net.InterfaceAddrs()
	require.NoError(t, err)
	for _, address := range own {
		require.Equal(t, "this-computer", computer(netip.MustParsePrefix(address.String()).Addr()))
	}
	one, err := socketPlaces(t.Context(), "192.0.2.5:5025")
	require.NoError(t, err)
	require.Equal(t, []string{"socket-192.0.2.5-5025"}, one)
	one, err = socketPlaces(t.Context(), "[2001:db8::0:5]:05025")
	require.NoError(t, err)
	require.Equal(t, []string{"socket-2001:db8::5-5025"}, one)
}

// TestLinksToADeviceAreTheDevice: by-id names are symbolic links, and a device that
// is not there yet is known by where its name leads.
func TestLinksToADeviceAreTheDevice(t *testing.T) {
	folder := t.TempDir()
	link := filepath.Join(folder, "usb-supply-if00")
	require.NoError(t, os.Symlink("/dev/null", link))
	require.Equal(t, devicePlace("/dev/null"), devicePlace(link))
	require.NotEqual(t, devicePlace("/dev/zero"), devicePlace(link))

	file, second := filepath.Join(folder, "file"), filepath.Join(folder, "second")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.NoError(t, os.Symlink(file, second))
	require.Equal(t, devicePlace(file), devicePlace(second))
	require.Equal(t, devicePlace("/dev/ttyNONE"), devicePlace("/dev/../dev/ttyNONE"))
}

// TestAnalogueSuppliesAreTheirConverters: they have no address of their own.
func TestAnalogueSuppliesAreTheirConverters(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	board := func(address int) profiles.SupplyEntry {
		one := profiles.ConverterEntry{Bus: "/dev/null", Address: address}
		return profiles.SupplyEntry{Driver: "analog", Analog: &profiles.AnalogEntry{SetVoltage: one, ReadVoltage: one, ReadCurrent: one}}
	}
	held, err := takeLock(t.Context(), board(0x60))
	require.NoError(t, err)
	_, err = takeLock(t.Context(), board(0x60))
	require.ErrorIs(t, err, ErrInUse)
	other, err := takeLock(t.Context(), board(0x61))
	require.NoError(t, err)
	require.NoError(t, other.Close())
	require.NoError(t, held.Close())
}

// TestLockFilesStandInOneFolderOfTheUser: not strewn over the folder for temporary
// files, and not in a folder that somebody else laid there.
func TestLockFilesStandInOneFolderOfTheUser(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", "")
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	held, err := takeLock(t.Context(), supplyAt("tcp://127.0.0.1:5027"))
	require.NoError(t, err)
	require.NoError(t, held.Close())
	entries, err := os.ReadDir(temporary)
	require.NoError(t, err)
	require.Len(t, entries, 1)
	folder := filepath.Join(temporary, "anodized-"+strconv.Itoa(os.Getuid()))
	info, err := os.Stat(folder)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())

	require.NoError(t, os.Chmod(folder, 0o777))
	_, err = takeLock(t.Context(), supplyAt("tcp://127.0.0.1:5027"))
	require.ErrorContains(t, err, "is not a folder of this user alone")
}
