package profiles

import (
	"fmt"
	"net/url"
)

// UnsaidRates says of each serial line whose address leaves the rate out which one is
// taken: a wrong one is silence on the line, and nothing in the file would show why.
func (b Bench) UnsaidRates() (all []string) {
	for _, e := range b.entries() {
		u, err := url.Parse(e.address)
		if err != nil || u.Query().Has("baud") {
			continue
		}
		if a, err := ParseAddress(e.address, "serial", "rtu"); err == nil {
			all = append(all, fmt.Sprintf("%s: its address has no baud, so %d bits a second and parity %s are taken: write ?baud= and what the instrument is set to", e.name, a.Baud, a.Parity))
		}
	}
	return all
}
