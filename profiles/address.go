package profiles

import (
	"fmt"
	"net"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Address is how a device is reached, as a bench file writes it:
//
//	tcp://HOST:PORT            a socket
//	rtu+tcp://HOST:PORT        a socket of a converter that carries Modbus RTU frames
//	serial:///dev/NAME?KEYS    a serial port
//	rtu:///dev/NAME?KEYS       a serial port that carries Modbus RTU frames
//	usbtmc:///dev/NAME?KEYS    a USB test-and-measurement device file
//
// The keys of a serial port are baud, bits, parity, stop and flow; those of a USB
// device file are serial and poll.
type Address struct {
	Scheme string
	Host   string // host:port of a socket
	Device string // path of a device file
	Baud   int    // bits a second
	Bits   int    // 7 or 8
	Parity string // none, even, odd
	Stop   int    // 1 or 2
	Flow   string // none, xonxoff, rtscts
	Serial string // serial number of the USB device; "" for any
	Poll   bool   // the status byte is asked before an answer is read
}

// Bauds are the rates that a serial port may have, in bits a second.
var Bauds = []int{1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400}

// CharacterBits is how many bits one byte takes on a serial line.
func (a Address) CharacterBits() int {
	bits := 1 + a.Bits + a.Stop
	if a.Parity != "none" {
		bits++
	}
	return bits
}

// forms are how addresses of each kind are written.
var forms = map[string]string{
	"tcp":     "tcp://HOST:PORT",
	"rtu+tcp": "rtu+tcp://HOST:PORT",
	"serial":  "serial:///dev/NAME?baud=9600",
	"rtu":     "rtu:///dev/NAME?baud=9600&parity=even",
	"usbtmc":  "usbtmc:///dev/usbtmc0",
}

// ParseAddress reads an address of one of the kinds that are allowed.
func ParseAddress(s string, allowed ...string) (Address, error) {
	needed := neededForms(allowed)
	u, err := url.Parse(s)
	switch {
	case err != nil:
		return Address{}, fmt.Errorf("%q is not an address; %s is needed", brief(s), needed)
	case !slices.Contains(allowed, u.Scheme) && forms[u.Scheme] != "":
		return Address{}, fmt.Errorf("%q: %s:// is not a way to this device; %s is needed", brief(s), u.Scheme, needed)
	case !slices.Contains(allowed, u.Scheme):
		return Address{}, fmt.Errorf("%q does not begin with %s; %s is needed", brief(s), beginnings(allowed), needed)
	}
	a := Address{Scheme: u.Scheme}
	if u.Scheme == "tcp" || u.Scheme == "rtu+tcp" {
		return a, a.socket(u, s)
	}
	return a, a.device(u, s)
}

func neededForms(allowed []string) string {
	written := make([]string, len(allowed))
	for i, scheme := range allowed {
		written[i] = forms[scheme]
	}
	return strings.Join(written, " or ")
}

func beginnings(allowed []string) string {
	return strings.Join(allowed, "://, ") + "://"
}

func (a *Address) socket(u *url.URL, s string) error {
	form := forms[a.Scheme]
	switch {
	case u.Hostname() == "" || strings.ContainsAny(u.Hostname(), " \t\"'"):
		return fmt.Errorf("%q has no host; %s is needed, such as \"%s://192.0.2.5:5025\"", brief(s), form, a.Scheme)
	case u.User != nil || u.Path != "" || u.RawQuery != "" || u.Fragment != "" || u.ForceQuery:
		return fmt.Errorf("%q has more than a host and a port; %s is needed", brief(s), form)
	}
	number, err := strconv.Atoi(u.Port())
	if err != nil || number < 1 || number > 65535 {
		return fmt.Errorf("%q has no port from 1 to 65535; %s is needed", brief(s), form)
	}
	a.Host = net.JoinHostPort(u.Hostname(), strconv.Itoa(number)) // 05025 is 5025
	return nil
}

func (a *Address) device(u *url.URL, s string) error {
	form := forms[a.Scheme]
	switch {
	case u.Host != "" || u.User != nil || u.Fragment != "":
		return fmt.Errorf("%q: three slashes stand before the path of a device; %s is needed", brief(s), form)
	case !strings.HasPrefix(u.Path, "/dev/") || path.Clean(u.Path) != u.Path:
		return fmt.Errorf("%q names no file below /dev; %s is needed", brief(s), form)
	}
	a.Device = u.Path
	a.Baud, a.Bits, a.Parity, a.Stop, a.Flow, a.Poll = 9600, 8, "none", 1, "none", true
	if a.Scheme == "rtu" {
		a.Baud, a.Parity = 19200, "even" // MODBUS over Serial Line V1.02, 2.5.1 and 3.3: the defaults
	}
	query, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return fmt.Errorf("%q: what stands behind the question mark cannot be read; %s is needed", brief(s), form)
	}
	if a.Scheme == "rtu" && query.Get("parity") == "none" {
		a.Stop = 2 // the same: without parity there are two stop bits
	}
	return a.options(query)
}

// options reads the keys behind the question mark, in the order of their names.
func (a *Address) options(query url.Values) error {
	keys := a.keys()
	for _, name := range sortedKeys(query) {
		values := query[name]
		read := keys[name]
		switch {
		case read == nil:
			return fmt.Errorf("unknown key %q in the address%s allowed: %s", brief(name),
				endSentence(didYouMean(name, sortedKeys(keys))), strings.Join(sortedKeys(keys), ", "))
		case len(values) > 1:
			return fmt.Errorf("key %q stands twice in the address", name)
		}
		if err := read(values[0]); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}

func (a *Address) keys() map[string]func(string) error {
	if a.Scheme == "usbtmc" {
		return map[string]func(string) error{"serial": oneWord(&a.Serial), "poll": truthOf(&a.Poll)}
	}
	flows := []string{"none", "xonxoff", "rtscts"}
	if a.Scheme == "rtu" {
		flows = flows[:1]
	}
	keys := map[string]func(string) error{
		"baud": oneNumber(&a.Baud, Bauds...), "parity": oneOf(&a.Parity, "none", "even", "odd"),
		"stop": oneNumber(&a.Stop, 1, 2), "flow": oneOf(&a.Flow, flows...),
	}
	if a.Scheme == "serial" {
		keys["bits"] = oneNumber(&a.Bits, 7, 8)
	}
	return keys
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for key := range m {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

func oneOf(to *string, words ...string) func(string) error {
	return func(s string) error {
		if !slices.Contains(words, s) {
			return fmt.Errorf("%q is not known; allowed: %s", brief(s), strings.Join(words, ", "))
		}
		*to = s
		return nil
	}
}

func oneNumber(to *int, numbers ...int) func(string) error {
	return func(s string) error {
		value, err := strconv.Atoi(s)
		if err != nil || !slices.Contains(numbers, value) {
			return fmt.Errorf("%q is not known; allowed: %s", brief(s), strings.Trim(fmt.Sprint(numbers), "[]"))
		}
		*to = value
		return nil
	}
}

func oneWord(to *string) func(string) error {
	return func(s string) error {
		if s == "" || len(s) > 100 || strings.ContainsAny(s, "/\x00\n") {
			return fmt.Errorf("%q is no serial number", brief(s))
		}
		*to = s
		return nil
	}
}

func truthOf(to *bool) func(string) error {
	return func(s string) error {
		if s != "true" && s != "false" {
			return fmt.Errorf("%q is neither true nor false", brief(s))
		}
		*to = s == "true"
		return nil
	}
}
