package post

import (
	"fmt"
	"net/netip"
	"strings"
	"syscall"

	"tidemark/server/fault"
)

// Guard says which addresses a webhook may be sent to. It looks at the address
// of each connection, after the name was resolved, so that a name that is
// pointed elsewhere in the meantime gains nothing.
//
// Public addresses are allowed; a network of the house only if an administrator
// has named it; this machine only if Loopback says so. What is neither, and
// whatever leads to other machines under another address, is never allowed.
type Guard struct {
	Loopback bool
	Private  []netip.Prefix
}

// Check returns a fault if nothing may be sent to an address.
func (g Guard) Check(a netip.Addr) error {
	switch {
	case !a.IsValid() || a.Zone() != "" || contains(never, a):
		return fault.Field("url", "Webhooks are not sent to the address %s.", a)
	case a.IsLoopback():
		if !g.Loopback {
			return fault.Field("url", "%s is this machine; webhooks are not sent there.", a)
		}
	case contains(private, a):
		if !contains(g.Private, a) {
			return fault.Field("url", "%s is an address of a private network. An administrator "+
				"has to name the network first.", a)
		}
	case a.Is6() && !global.Contains(a):
		return fault.Field("url", "Webhooks are not sent to the address %s.", a)
	}
	return nil
}

// control is a net.Dialer's: it is called with the address just before a
// connection is made.
func (g Guard) control(_, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return fmt.Errorf("parse address %q: %w", address, err)
	}
	return g.Check(at.Addr())
}

// ParseNetworks reads the private networks that an administrator names, parted
// by commas or spaces, such as "10.20.0.0/16, fd12:3456::/32".
func ParseNetworks(text string) (list []netip.Prefix, err error) {
	separator := func(r rune) bool { return r == ',' || r == ' ' }
	for _, word := range strings.FieldsFunc(text, separator) {
		p, err := netip.ParsePrefix(word)
		if err != nil {
			return nil, fault.Field("networks", "%q is not a network such as 10.20.0.0/16.", word)
		}
		if p = p.Masked(); !inPrivate(p) {
			return nil, fault.Field("networks", "%s is not a private network. Public addresses "+
				"are allowed as they are.", p)
		}
		list = append(list, p)
	}
	return list, nil
}

// inPrivate reports whether p is a part of one private network.
func inPrivate(p netip.Prefix) bool {
	for _, whole := range private {
		if whole.Bits() <= p.Bits() && whole.Contains(p.Addr()) {
			return true
		}
	}
	return false
}

// The ranges are those of the IANA special-purpose address registries
// (RFC 6890).
var (
	global  = netip.MustParsePrefix("2000::/3")
	private = prefixes("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10",
		"fc00::/7")
	never = prefixes(
		"0.0.0.0/8", "169.254.0.0/16", "224.0.0.0/4", "240.0.0.0/4", // 240/4 holds broadcast
		"192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24", "198.18.0.0/15", "198.51.100.0/24",
		"203.0.113.0/24",
		"::/128", "fe80::/10", "ff00::/8",
		// Other machines under another address: IPv4 in IPv6, NAT64, Teredo, 6to4.
		"::ffff:0:0/96", "64:ff9b::/96", "64:ff9b:1::/48", "2001::/23", "2002::/16",
		"2001:db8::/32", "3fff::/20",
		// What hosting providers tell a machine about itself, keys among it.
		"100.100.100.200/32", "fd00:ec2::254/128",
	)
)

func prefixes(list ...string) []netip.Prefix {
	all := make([]netip.Prefix, len(list))
	for i, text := range list {
		all[i] = netip.MustParsePrefix(text)
	}
	return all
}

func contains(list []netip.Prefix, a netip.Addr) bool {
	for _, p := range list {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
