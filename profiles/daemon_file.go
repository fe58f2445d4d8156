package profiles

import (
	"fmt"
	"net"
	"regexp"
	"strconv"
	"strings"
)

const mostCredentials = 32

// ReadDaemon reads the file of a daemon. The error is [Mistakes], all of them.
func ReadDaemon(file string, data []byte) (Daemon, error) {
	r := &report{file: file}
	var d Daemon
	if n := r.parse(data); n != nil {
		g := r.fields(n, "a daemon", daemonFields(&d))
		r.belongTogether(n, g)
	}
	return d, r.err()
}

func daemonFields(d *Daemon) []field {
	return []field{
		may("listen", listenAddress(&d.Listen)),
		may("allowed hosts", each(mostCredentials, "a list of names, such as [bench.example],", hostName(&d.Hosts))),
		may("bench", text(&d.Bench, 300)),
		may("journal", text(&d.Journal, 300)),
		may("profiles", text(&d.Profiles, 300)),
		may("racks", text(&d.Racks, 300)),
		may("certificate", text(&d.Certificate, 300)),
		may("key", text(&d.Key, 300)),
		may("board watchdog", devicePath(&d.BoardWatchdog)),
		may("board watchdog time", duration(&d.BoardWatchdogTime, 5, 60)),
		may("credentials", each(mostCredentials, "a list of persons", func(r *report, n *node) {
			var one Credential
			r.credential(n, &one, d.Credentials)
			d.Credentials = append(d.Credentials, one)
		})),
	}
}

// belongTogether reports what makes no sense alone.
func (r *report) belongTogether(n *node, g given) {
	if g.has("certificate") != g.has("key") {
		r.say(lastOf(g, "certificate", "key"), "certificate and key belong together: give both")
	}
	if g.has("board watchdog time") && !g.has("board watchdog") {
		r.say(lastOf(g, "board watchdog time"), "board watchdog time: there is no board watchdog: name its device, such as board watchdog: /dev/watchdog")
	}
	if g.good["listen"] != nil && !g.has("credentials") && !Loopback(g.good["listen"].text) {
		r.say(g.good["listen"], "listen: %q can be reached from other machines: credentials are needed then; without them use 127.0.0.1 or [::1]", g.good["listen"].text)
	}
}

// devicePath reads the name of a device of the system.
func devicePath(to *string) reader {
	return valued(func(s string) error {
		if !strings.HasPrefix(s, "/dev/") || len(s) > 100 {
			return fmt.Errorf("%q is no device; write its whole path, such as /dev/watchdog", brief(s))
		}
		*to = s
		return nil
	})
}

func (r *report) credential(n *node, c *Credential, before []Credential) {
	g := r.fields(n, "a credential", []field{
		need("name", "Ida", personName(&c.Name, before)),
		need("role", RoleOperate, choice(&c.Role, RoleOperate, RoleWatch)),
		may("password", hashed(&c.Password)),
		may("token file", text(&c.TokenFile, 300)),
	})
	r.exactlyOne(n, g, "a credential", "password", "token file")
}

func personName(to *string, before []Credential) reader {
	return func(r *report, n *node) {
		text(to, 60)(r, n)
		for _, one := range before {
			if *to != "" && one.Name == *to {
				r.say(n, "name: %q stands twice; each person has a name of their own", brief(*to))
			}
		}
		if strings.Contains(*to, ":") {
			r.say(n, "name: %q has a colon, which a browser cannot send", brief(*to))
		}
	}
}

var bcryptHash = regexp.MustCompile(`^\$2[aby]\$(0[4-9]|[12][0-9]|3[01])\$[./A-Za-z0-9]{53}$`)

// mostCost bounds how long the computer of the bench works on one password.
const mostCost = 12

// hashed reads the hash of a password, and says no word of what it found: it may be
// the password.
func hashed(to *string) reader {
	return valued(func(s string) error {
		match := bcryptHash.FindStringSubmatch(s)
		if match == nil {
			return fmt.Errorf("this is no bcrypt hash; write the line of htpasswd -nB NAME behind the colon, in quotes, and never the password itself")
		}
		if cost, err := strconv.Atoi(match[1]); err != nil || cost > mostCost {
			return fmt.Errorf("its cost is %s; at most %d is allowed, which already takes this computer a while", match[1], mostCost)
		}
		*to = s
		return nil
	})
}

func listenAddress(to *string) reader {
	return valued(func(s string) error {
		_, port, err := net.SplitHostPort(s)
		if number, bad := strconv.Atoi(port); err != nil || bad != nil || number < 0 || number > 65535 {
			return fmt.Errorf("%q is no address; HOST:PORT is needed, such as 127.0.0.1:7070", brief(s))
		}
		*to = s
		return nil
	})
}

var aHost = regexp.MustCompile(`^[A-Za-z0-9]([A-Za-z0-9.:-]{0,250}[A-Za-z0-9])?$`)

func hostName(to *[]string) reader {
	return valued(func(s string) error {
		name := strings.Trim(s, "[]")
		if !aHost.MatchString(name) || strings.Contains(name, ":") && net.ParseIP(name) == nil {
			return fmt.Errorf("%q is no name of a host; write it without http:// and without a port, such as bench.example", brief(s))
		}
		*to = append(*to, name)
		return nil
	})
}

// Loopback tells whether an address to listen at is of this machine alone.
func Loopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}
