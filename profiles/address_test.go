package profiles

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestAddresses(t *testing.T) {
	serial := Address{Scheme: "serial", Device: "/dev/ttyS0", Baud: 9600, Bits: 8, Parity: "none", Stop: 1, Flow: "none", Poll: true}
	with := func(change func(*Address)) Address { a := serial; change(&a); return a }
	for text, want := range map[string]Address{
		"tcp://192.0.2.5:5025":         {Scheme: "tcp", Host: "192.0.2.5:5025"},
		"rtu+tcp://[2001:db8::1]:4001": {Scheme: "rtu+tcp", Host: "[2001:db8::1]:4001"},
		"serial:///dev/ttyS0":          serial,
		"serial:///dev/serial/by-id/usb-a_b-if00-port0?baud=115200&parity=odd&bits=7&stop=2&flow=rtscts": with(func(a *Address) {
			a.Device, a.Baud, a.Bits = "/dev/serial/by-id/usb-a_b-if00-port0", 115200, 7
			a.Parity, a.Stop, a.Flow = "odd", 2, "rtscts"
		}),
		"rtu:///dev/ttyS0": with(func(a *Address) { a.Scheme, a.Baud, a.Parity = "rtu", 19200, "even" }),
		"rtu:///dev/ttyS0?parity=none": with(func(a *Address) {
			a.Scheme, a.Baud, a.Stop = "rtu", 19200, 2
		}),
		"rtu:///dev/ttyS0?parity=none&stop=1":        with(func(a *Address) { a.Scheme, a.Baud = "rtu", 19200 }),
		"usbtmc:///dev/usbtmc0":                      with(func(a *Address) { a.Scheme, a.Device = "usbtmc", "/dev/usbtmc0" }),
		"usbtmc:///dev/usbtmc3?serial=17&poll=false": with(func(a *Address) { a.Scheme, a.Device, a.Serial, a.Poll = "usbtmc", "/dev/usbtmc3", "17", false }),
	} {
		got, err := ParseAddress(text, "tcp", "rtu+tcp", "serial", "rtu", "usbtmc")
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
}

// TestCharacterBits: a start bit, the data, the parity, the stop bits; 11 for Modbus
// RTU either way (MODBUS over Serial Line V1.02, 2.5.1).
func TestCharacterBits(t *testing.T) {
	for text, want := range map[string]int{
		"serial:///dev/ttyS0": 10, "serial:///dev/ttyS0?bits=7&parity=even": 10,
		"rtu:///dev/ttyS0": 11, "rtu:///dev/ttyS0?parity=none": 11,
	} {
		a, err := ParseAddress(text, "serial", "rtu")
		require.NoError(t, err)
		require.Equal(t, want, a.CharacterBits(), text)
	}
}

func TestWhatIsNoAddress(t *testing.T) {
	for text, want := range map[string]string{
		"serial://dev/ttyS0":                       "three slashes",
		"serial:///etc/passwd":                     "below /dev",
		"serial:///dev/../etc/passwd":              "below /dev",
		"serial:///dev/ttyS0?baud=9601":            "baud: \"9601\" is not known; allowed: 1200",
		"serial:///dev/ttyS0?buad=9600":            "did you mean \"baud\"",
		"serial:///dev/ttyS0?baud=9600&baud=19200": "twice",
		"serial:///dev/ttyS0?parity=mark":          "none, even, odd",
		"serial:///dev/ttyS0?flow=dtrdsr":          "none, xonxoff, rtscts",
		"serial:///dev/ttyS0?baud=%zz":             "cannot be read",
		"rtu:///dev/ttyS0?bits=7":                  "unknown key \"bits\"",
		"rtu:///dev/ttyS0?flow=xonxoff":            "allowed: none",
		"usbtmc:///dev/usbtmc0?poll=maybe":         "neither true nor false",
		"usbtmc:///dev/usbtmc0?serial=":            "no serial number",
		"rtu+tcp://192.0.2.1":                      "no port",
		"tcp://192.0.2.1:5025/x":                   "more than a host",
		"ftp://192.0.2.1":                          "does not begin with",
		"tcp://\x7f":                               "is not an address",
	} {
		_, err := ParseAddress(text, "tcp", "rtu+tcp", "serial", "rtu", "usbtmc")
		require.ErrorContains(t, err, want, text)
	}
	_, err := ParseAddress("usbtmc:///dev/usbtmc0", "tcp", "rtu")
	require.ErrorContains(t, err, "is not a way to this device; tcp://HOST:PORT or rtu:///dev/NAME?baud=9600&parity=even is needed")
}

func FuzzParseAddress(f *testing.F) {
	f.Add("rtu:///dev/ttyS0?parity=none&stop=1")
	f.Add("tcp://192.0.2.5:5025")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseAddress(text, "tcp", "rtu+tcp", "serial", "rtu", "usbtmc")
		if err != nil {
			return
		}
		require.True(t, (a.Host == "") != (a.Device == ""), text)
	})
}
