package trust

import (
	"net"
	"net/netip"
	"slices"
)

// privateRanges are the addresses that never leave a house: RFC 1918, RFC 4193,
// link-local (RFC 3927, RFC 4291) and this computer itself. The authority can vouch
// for no other.
var privateRanges = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"),
	netip.MustParsePrefix("172.16.0.0/12"),
	netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("127.0.0.0/8"),
	netip.MustParsePrefix("169.254.0.0/16"),
	netip.MustParsePrefix("fc00::/7"),
	netip.MustParsePrefix("fe80::/10"),
	netip.MustParsePrefix("::1/128"),
}

// maxAddresses is how many addresses a certificate names at most; a computer with
// more has them from virtual networks, which no phone is on.
const maxAddresses = 32

// MachineAddresses are the private addresses by which others in the house reach
// this computer: the one its own way out starts from first, IPv4 before IPv6.
// It sends nothing.
func MachineAddresses() ([]netip.Addr, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, err
	}
	var found []netip.Addr
	for _, a := range all {
		if network, ok := a.(*net.IPNet); ok {
			if address, ok := netip.AddrFromSlice(network.IP); ok {
				found = append(found, address)
			}
		}
	}
	return houseAddresses(found, wayOut()), nil
}

// houseAddresses keeps what another device in the house can use, each once, the first one
// first. Link-local IPv6 is left out: it needs a zone, which no browser takes.
func houseAddresses(all []netip.Addr, first netip.Addr) []netip.Addr {
	var kept []netip.Addr
	for _, a := range all {
		a = a.Unmap().WithZone("")
		if isPrivate(a) && !a.IsLoopback() && !(a.Is6() && a.IsLinkLocalUnicast()) {
			kept = append(kept, a)
		}
	}
	slices.SortFunc(kept, func(a, b netip.Addr) int {
		if (a == first) != (b == first) {
			if a == first {
				return -1
			}
			return 1
		}
		return a.Compare(b) // IPv4 sorts before IPv6
	})
	kept = slices.Compact(kept)
	return kept[:min(len(kept), maxAddresses)]
}

// isPrivate tells whether the authority may vouch for an address.
func isPrivate(a netip.Addr) bool {
	return slices.ContainsFunc(privateRanges, func(p netip.Prefix) bool { return p.Contains(a) })
}

// wayOut is the address that this computer would send from. Connecting a UDP socket
// chooses the route and sends nothing; 192.0.2.1 is nobody's (RFC 5737).
func wayOut() netip.Addr {
	conn, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer conn.Close()
	return conn.LocalAddr().(*net.UDPAddr).AddrPort().Addr().Unmap()
}
