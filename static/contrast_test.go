package static_test

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Relative luminance and contrast ratio as WCAG 2.2 defines them (the terms of those names).
// The check values are worked from the definition: black on white is 21:1; #777777 on white is
// 4.48:1 and #767676 is 4.54:1, the known pair on either side of 4.5 (from memory).
func TestContrastIsWorkedAsDefined(t *testing.T) {
	require.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9)
	require.InDelta(t, 1, contrast(t, "#8c0e34", "#8c0e34"), 1e-9)
	require.InDelta(t, 4.48, contrast(t, "#777777", "#ffffff"), .005)
	require.InDelta(t, 4.54, contrast(t, "#767676", "#ffffff"), .005)
	require.InDelta(t, .2126729, luminance(t, "#ff0000"), 1e-4, "the weight of red, IEC 61966-2-1")
}

// Text is kept at 7:1 (WCAG 2.2, 1.4.6) on every ground it stands on, in both schemes; what
// must be seen to use a page, at 3:1 (1.4.11).
func TestSchemesAreReadable(t *testing.T) {
	text := []string{"ink", "soft", "accent", "ready", "due", "out", "engineering", "retired"}
	for name, colours := range schemes(t) {
		t.Run(name, func(t *testing.T) {
			for _, ground := range []string{"flap", "paper", "card"} {
				for _, ink := range text {
					require.GreaterOrEqualf(t, contrast(t, colours[ink], colours[ground]), 7.0,
						"%s on %s", ink, ground)
				}
				require.GreaterOrEqualf(t, contrast(t, colours["edge"], colours[ground]), 3.0,
					"edge of an input on %s", ground)
			}
		})
	}
}

// The bar of a phone's browser goes on in the colour of the flap.
func TestThemeColourIsTheFlap(t *testing.T) {
	page := string(render(t, specimens()["due"]))
	for _, scheme := range []string{"light", "dark"} {
		require.Contains(t, page, `content="`+schemes(t)[scheme]["flap"]+
			`" media="(prefers-color-scheme: `+scheme+`)"`)
	}
}

// The dark scheme stands twice in the sheet, once for a browser that asks for it and once for
// a board; they must not drift apart.
func TestBoardIsTheDarkScheme(t *testing.T) {
	s := schemes(t)
	require.Equal(t, s["dark"], s["board"])
	require.Len(t, s["light"], len(s["dark"]))
	require.NotEqual(t, s["light"], s["dark"])
}

// schemes reads the custom properties of each scheme out of the style sheet.
func schemes(t *testing.T) map[string]map[string]string {
	t.Helper()
	sheet, err := os.ReadFile("css/tide.css")
	require.NoError(t, err)
	selectors := map[string]string{
		"light": ":root {",
		"dark":  `:root:not([data-scheme="paper"]) {`,
		"board": `:root[data-scheme="board"] {`,
	}
	colour := regexp.MustCompile(`--([a-z]+): (#[0-9a-f]{6});`)
	found := map[string]map[string]string{}
	for name, selector := range selectors {
		_, rest, ok := strings.Cut(string(sheet), selector)
		require.Truef(t, ok, "no %s in the sheet", selector)
		block, _, _ := strings.Cut(rest, "}")
		found[name] = map[string]string{}
		for _, m := range colour.FindAllStringSubmatch(block, -1) {
			found[name][m[1]] = m[2]
		}
		require.GreaterOrEqual(t, len(found[name]), 12)
	}
	return found
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + .05) / (min(la, lb) + .05)
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	require.NoErrorf(t, err, "colour %q", hex)
	linear := func(shift uint) float64 {
		c := float64(n>>shift&255) / 255
		if c <= .04045 {
			return c / 12.92
		}
		return math.Pow((c+.055)/1.055, 2.4)
	}
	return .2126*linear(16) + .7152*linear(8) + .0722*linear(0)
}
