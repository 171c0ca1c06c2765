package labels

import (
	"fmt"
	"net/url"
	"strings"
)

// URL returns the address on a sealer's label: publicURL's scheme and host, in
// upper case since neither minds, then /S/ and the code. An error wraps
// ErrPublicURL.
//
// A publicURL with a path is refused: a path minds its case, so it could not be
// written in upper case, and the app is served from the root of its host.
func URL(publicURL string, code Code) (string, error) {
	return PathURL(publicURL, "/S/"+string(code))
}

// PathURL returns the address of any page of the app, for a card. path begins
// with a slash and stays as it is; keep it to upper case, digits and slashes
// for the smallest symbol.
func PathURL(publicURL, path string) (string, error) {
	u, err := url.Parse(publicURL)
	if err != nil {
		return "", fmt.Errorf("%w: it does not read as an address", ErrPublicURL)
	}
	if reason := unfit(u); reason != "" {
		return "", fmt.Errorf("%w: %s", ErrPublicURL, reason)
	}
	if !strings.HasPrefix(path, "/") || !printableASCII(path) {
		return "", fmt.Errorf("make label address: path %q is not one of an address", path)
	}
	return strings.ToUpper(u.Scheme+"://"+u.Host) + path, nil
}

// unfit says why an address cannot go on labels, "" if it can.
func unfit(u *url.URL) string {
	switch {
	case u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "":
		return "it must begin with https:// and a host name"
	case u.User != nil:
		return "a name or password does not belong on a label"
	case u.Path != "" && u.Path != "/":
		return "leave out the path " + u.Path +
			"; labels need the app at the root of its host, where letter case does not matter"
	case u.RawQuery != "" || u.ForceQuery || u.Fragment != "":
		return "leave out everything after the host name"
	case !printableASCII(u.Host):
		return "write the host name in its xn-- form"
	}
	return ""
}

func printableASCII(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r <= ' ' || r > '~' }) < 0
}
