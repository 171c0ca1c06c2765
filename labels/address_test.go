package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestURL(t *testing.T) {
	for publicURL, want := range map[string]string{
		"https://tide.example.org":       "HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK",
		"https://tide.example.org/":      "HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK",
		"https://Tide.Example.org:8443":  "HTTPS://TIDE.EXAMPLE.ORG:8443/S/K7QM3XK",
		"http://192.0.2.7:8080":          "HTTP://192.0.2.7:8080/S/K7QM3XK",
		"http://[2001:db8::7]:8080":      "HTTP://[2001:DB8::7]:8080/S/K7QM3XK",
		"https://xn--strung-8za.example": "HTTPS://XN--STRUNG-8ZA.EXAMPLE/S/K7QM3XK",
	} {
		got, err := URL(publicURL, "K7QM3XK")
		require.NoError(t, err, publicURL)
		require.Equal(t, want, got)
		code, err := ParseCode(got)
		require.NoError(t, err)
		require.Equal(t, Code("K7QM3XK"), code, "the scan box reads what the symbol says")
	}
}

func TestURLRefusesWhatCannotBeUpperCase(t *testing.T) {
	for publicURL, why := range map[string]string{
		"":                                 "https://",
		"tide.example.org":                 "https://",
		"ftp://tide.example.org":           "https://",
		"https://:8443":                    "https://",
		"https://tide.example.org/app":     "leave out the path /app",
		"https://tide.example.org?x=1":     "after the host name",
		"https://tide.example.org#top":     "after the host name",
		"https://me:pw@tide.example.org":   "password",
		"https://störung.example":          "xn--",
		"https://tide.example.org/%zz":     "does not read as an address",
		"https://tide example.org/S/":      "does not read as an address",
		"https://tide.example.org\n":       "does not read as an address",
		"https://tide.example.org:notport": "does not read as an address",
	} {
		_, err := URL(publicURL, "K7QM3XK")
		require.ErrorIs(t, err, ErrPublicURL, "%q", publicURL)
		require.ErrorContains(t, err, why, "%q", publicURL)
	}
}

func TestPathURLKeepsThePathAsItIs(t *testing.T) {
	got, err := PathURL("https://tide.example.org", "/f/aB9")
	require.NoError(t, err)
	require.Equal(t, "HTTPS://TIDE.EXAMPLE.ORG/f/aB9", got)

	for _, path := range []string{"", "f/x", "/f/x y", "/f/é"} {
		_, err := PathURL("https://tide.example.org", path)
		require.Error(t, err, path)
		require.NotErrorIs(t, err, ErrPublicURL, "the address is not to blame")
	}
}

// ISO/IEC 18004: 0-9, A-Z, space and $%*+-./: are the alphanumeric set.
func TestSealerAddressesStayInTheAlphanumericSet(t *testing.T) {
	for _, publicURL := range []string{"https://tide.example.org:8443", "http://10.0.0.7"} {
		u, err := URL(publicURL, newCode(t))
		require.NoError(t, err)
		require.Empty(t, strings.Trim(u, iso7064+" $%*+-./:"))
	}
}
