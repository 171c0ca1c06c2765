package post_test

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/post"
)

// The ranges are from memory of the IANA special-purpose address registries
// (RFC 6890) and of the RFCs named; the metadata addresses are common practice.
func TestAddressesThatAreNeverAllowed(t *testing.T) {
	open := post.Guard{Loopback: true, Private: []netip.Prefix{
		netip.MustParsePrefix("0.0.0.0/0"), netip.MustParsePrefix("::/0")}}
	for what, address := range map[string]string{
		"this network":             "0.0.0.0",
		"link-local":               "169.254.0.1",
		"metadata":                 "169.254.169.254",
		"metadata in shared space": "100.100.100.200",
		"metadata in IPv6":         "fd00:ec2::254",
		"protocol assignments":     "192.0.0.192",
		"documentation":            "192.0.2.1",
		"benchmarking":             "198.19.255.255",
		"multicast":                "224.0.0.251",
		"reserved":                 "240.0.0.1",
		"broadcast":                "255.255.255.255",
		"unspecified":              "::",
		"link-local in IPv6":       "fe80::1",
		"with a zone":              "fe80::1%eth0",
		"global with a zone":       "2600::1%eth0",
		"deprecated site-local":    "fec0::1",
		"multicast in IPv6":        "ff02::1",
		"IPv4 mapped (RFC 4291)":   "::ffff:11.0.0.1",
		"loopback mapped":          "::ffff:127.0.0.1",
		"IPv4 compatible":          "::7f00:1",
		"NAT64 (RFC 6052)":         "64:ff9b::a9fe:a9fe",
		"local NAT64 (RFC 8215)":   "64:ff9b:1::7f00:1",
		"Teredo (RFC 4380)":        "2001:0:a9fe:a9fe::1",
		"6to4 (RFC 3056)":          "2002:7f00:1::1",
		"documentation in IPv6":    "2001:db8::1",
		"not allocated":            "4000::1",
	} {
		t.Run(what, func(t *testing.T) {
			err := open.Check(netip.MustParseAddr(address))
			require.True(t, fault.Is(err, fault.Invalid), "%s: %v", address, err)
		})
	}
}

// Each lies just outside a range.
func TestPublicAddressesAreAllowed(t *testing.T) {
	outside := []string{"9.255.255.255", "11.0.0.0", "100.63.255.255", "100.128.0.0", "169.255.0.0",
		"172.15.255.255", "172.32.0.0", "192.169.0.0", "223.255.255.255", "2001:200::", "2003::",
		"2600::1"}
	for _, address := range outside {
		require.NoError(t, post.Guard{}.Check(netip.MustParseAddr(address)), address)
	}
}

func TestThisMachineOnlyWhenAllowed(t *testing.T) {
	for _, address := range []string{"127.0.0.1", "127.8.8.8", "::1"} {
		require.Error(t, post.Guard{}.Check(netip.MustParseAddr(address)), address)
		require.NoError(t, post.Guard{Loopback: true}.Check(netip.MustParseAddr(address)), address)
	}
}

func TestAPrivateNetworkOnlyWhenNamed(t *testing.T) {
	named, err := post.ParseNetworks("10.20.0.0/16, 100.64.0.0/10 fd12:3456::/32")
	require.NoError(t, err)
	for address, allowed := range map[string]bool{
		"10.20.255.255": true, "10.21.0.0": false, "192.168.1.1": false, "172.16.0.1": false,
		"100.127.255.255": true, "fd12:3456::9": true, "fd12:3457::9": false,
	} {
		a := netip.MustParseAddr(address)
		require.Error(t, post.Guard{}.Check(a), address)
		require.Equal(t, allowed, post.Guard{Private: named}.Check(a) == nil, address)
	}
}

func TestOnlyPrivateNetworksCanBeNamed(t *testing.T) {
	for _, text := range []string{"10.0.0.0", "11.0.0.0/24", "0.0.0.0/0", "10.0.0.0/7",
		"169.254.0.0/16", "::/0", "x"} {
		_, err := post.ParseNetworks(text)
		require.True(t, fault.Is(err, fault.Invalid), text)
	}
	none, err := post.ParseNetworks(" ")
	require.NoError(t, err)
	require.Empty(t, none)
}
