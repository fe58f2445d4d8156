package profiles

import (
	"fmt"
	"net/url"
)

// UnsaidRates says of each serial line whose address leaves the rate out which one is
// taken: a wrong one is silence on the line, and nothing in the file would show why.
func (b Bench) UnsaidRates() (all []string) {
	for _, e := range b.addresses() {
		u, err := url.Parse(e.address)
		if err != nil || u.Query().Has("baud") {
			continue
		}
		if a, err := ParseAddress(e.address, "serial", "rtu"); err == nil {
			all = append(all, fmt.Sprintf("%s: its address has no baud, so %d bits a second and parity %s are taken: write ?baud= and what the instrument is set to", e.entry, a.Baud, a.Parity))
		}
	}
	return all
}

type addressed struct{ entry, driver, address string }

// addresses are those of the entries that the file has.
func (b Bench) addresses() []addressed {
	all := []addressed{{"supply", b.Supply.Driver, b.Supply.Address}, {"interlock", b.Interlock.Driver, b.Interlock.Address}}
	if e := b.EmergencyStop; e != nil {
		all = append(all, addressed{"emergency stop", e.Driver, e.Address})
	}
	if e := b.Ventilation; e != nil {
		all = append(all, addressed{"ventilation", e.Driver, e.Address})
	}
	if e := b.Contactor; e != nil {
		all = append(all, addressed{"contactor", e.Driver, e.Address})
	}
	if e := b.Beacon; e != nil {
		all = append(all, addressed{"beacon", e.Driver, e.Address})
	}
	if e := b.Temperature; e != nil {
		all = append(all, addressed{"bath temperature", e.Driver, e.Address})
	}
	if e := b.Voltmeter; e != nil {
		all = append(all, addressed{"voltmeter", e.Driver, e.Address})
	}
	return all
}
