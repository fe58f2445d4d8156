package bench

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"anodized/hal"
	"anodized/profiles"
)

// placesOf are the names of where a supply is. Two bench files that reach one
// instrument by addresses of other spelling have one of them in common.
func placesOf(ctx context.Context, s profiles.SupplyEntry) ([]string, error) {
	if s.Analog != nil {
		var places []string
		for _, c := range s.Analog.Converters() {
			places = append(places, fmt.Sprintf("%s@0x%02x", devicePlace(c.Bus), c.Address))
		}
		return places, nil
	}
	a, err := profiles.ParseAddress(s.Address, "tcp", "rtu+tcp", "serial", "rtu", "usbtmc")
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: address: %w", ErrFile, err)
	case a.Host != "":
		return socketPlaces(ctx, a.Host)
	case a.Serial != "":
		return []string{devicePlace(devicePath(a))}, nil
	}
	return []string{devicePlace(a.Device)}, nil
}

// devicePlace is the number of a device file, which all its names share, else the
// file that the name leads to.
func devicePlace(path string) string {
	if number, ok := deviceNumber(path); ok {
		return "device-" + number
	}
	if file, err := filepath.EvalSymlinks(path); err == nil {
		path = file
	}
	return "file-" + filepath.Clean(path)
}

// lookupTimeout bounds the question for the addresses of a name.
const lookupTimeout = 3 * time.Second

// socketPlaces are the addresses that the host has, each with the port.
func socketPlaces(ctx context.Context, hostPort string) ([]string, error) {
	host, service, err := net.SplitHostPort(hostPort)
	if err != nil {
		return nil, fmt.Errorf("%w: address: %w", ErrFile, err)
	}
	port, err := strconv.Atoi(service)
	if err != nil {
		return nil, fmt.Errorf("%w: address: port: %w", ErrFile, err)
	}
	addresses, err := addressesOf(ctx, host)
	if err != nil {
		return nil, fmt.Errorf("find %s: %w: %w", host, hal.ErrGone, err)
	}
	places := make([]string, len(addresses))
	for i, address := range addresses {
		places[i] = fmt.Sprintf("socket-%s-%d", computer(address), port)
	}
	return places, nil
}

// addressesOf asks for no name that is this computer's by definition (RFC 6761, 6.3).
func addressesOf(ctx context.Context, host string) ([]netip.Addr, error) {
	if address, err := netip.ParseAddr(host); err == nil {
		return []netip.Addr{address}, nil
	}
	name := strings.TrimSuffix(strings.ToLower(host), ".")
	if name == "localhost" || strings.HasSuffix(name, ".localhost") {
		return []netip.Addr{netip.IPv6Loopback()}, nil
	}
	ctx, cancel := context.WithTimeout(ctx, lookupTimeout)
	defer cancel()
	return net.DefaultResolver.LookupNetIP(ctx, "ip", host)
}

// computer is an address, or one word for all addresses of this computer: what
// listens on all of them is one instrument.
func computer(address netip.Addr) string {
	address = address.Unmap()
	if address.IsLoopback() || address.IsUnspecified() || ownAddress(address) {
		return "this-computer"
	}
	return address.String()
}

// ownAddress tells whether an interface of this computer has the address. Where the
// system does not tell, the address stands for itself.
func ownAddress(address netip.Addr) bool {
	own, err := net.InterfaceAddrs()
	if err != nil {
		return false
	}
	for _, one := range own {
		if prefix, err := netip.ParsePrefix(one.String()); err == nil && prefix.Addr().Unmap() == address.WithZone("") {
			return true
		}
	}
	return false
}
