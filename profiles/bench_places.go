package profiles

import (
	"net"
	"net/netip"
	"strings"
)

// reached is an entry that is reached by an address.
type reached struct {
	entry    string
	language string // SCPI or Modbus
	address  Address
	at       *node // of the address
}

// reachedBy are the entries with an address that were read well.
func reachedBy(g given, b *Bench) (all []reached) {
	languages := map[string]string{"scpi": "SCPI", "modbus": "Modbus"}
	for _, e := range b.entries() {
		n, language := g.good[e.name], languages[e.driver]
		if n == nil || e.address == "" || language == "" {
			continue
		}
		if a, err := ParseAddress(e.address, "tcp", "rtu+tcp", "serial", "rtu", "usbtmc"); err == nil { // it was read well
			all = append(all, reached{e.name, language, a, n.value("address")})
		}
	}
	return all
}

// oneLanguage refuses two entries that ask one place in two ways: another language,
// another framing, or another speed. Only one of them could be right.
func (r *report) oneLanguage(g given, b *Bench) {
	all := reachedBy(g, b)
	for i, e := range all {
		for _, before := range all[:i] {
			if !e.address.samePlace(before.address) {
				continue
			}
			if e.language != before.language || e.address.Scheme != before.address.Scheme {
				r.say(e.at, "address: the %s is reached there, by %s in %s; one place speaks one language", before.entry, before.address.Scheme+"://", before.language)
				break
			}
			if e.address.Device != "" && e.language == "Modbus" && e.address != before.address {
				r.say(e.at, "address: the %s is on this line with other settings; all devices of one line have the same baud, parity and stop", before.entry)
				break
			}
		}
	}
}

// samePlace tells whether two addresses lead to one socket or one device file.
func (a Address) samePlace(b Address) bool {
	switch {
	case a.Host != "" || b.Host != "":
		return plainHost(a.Host) == plainHost(b.Host)
	case a.Serial != "" && b.Serial != "":
		return a.Serial == b.Serial
	}
	return a.Device == b.Device
}

// plainHost spells a host in one way.
func plainHost(hostPort string) string {
	host, port, err := net.SplitHostPort(hostPort)
	if err != nil {
		return hostPort
	}
	if address, err := netip.ParseAddr(host); err == nil {
		host = address.Unmap().String()
	}
	return net.JoinHostPort(strings.TrimSuffix(strings.ToLower(host), "."), port)
}

// plainPlace spells an address of a module in one way.
func plainPlace(text string) string {
	a, err := ParseAddress(text, modbusWays...)
	if err != nil {
		return text
	}
	return plainHost(a.Host) + a.Device
}
