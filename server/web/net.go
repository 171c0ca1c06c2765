package web

import (
	"io/fs"
	"net"
	"net/netip"
)

func prefixNet(p netip.Prefix) *net.IPNet {
	return &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}
}

func pageFiles(files fs.FS) ([]string, error) { return fs.Glob(files, "pages/*.html") }
