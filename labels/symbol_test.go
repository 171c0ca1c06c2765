package labels

import (
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/require"
)

// ISO/IEC 18004: characters by version at levels Q and H, in alphanumeric and
// in byte mode; a symbol of version v has 17+4v modules on a side.
func TestSymbolHasTheSmallestVersionOfTheStandard(t *testing.T) {
	const upper, lower = "HTTPS://", "https://"
	for _, c := range []struct {
		start    string
		level    qrcode.RecoveryLevel
		capacity []int // of version 2, 3, 4 ...
	}{
		{upper, qrcode.High, []int{29, 47, 67, 87, 108}},
		{upper, qrcode.Highest, []int{20, 35, 50, 64, 84}},
		{lower, qrcode.High, []int{20, 32, 46}},
		{lower, qrcode.Highest, []int{14, 24, 34}},
	} {
		for i, n := range c.capacity {
			version := 2 + i
			require.Equal(t, 17+4*version, side(t, c.start, n, c.level), "%d characters", n)
			require.Equal(t, 17+4*(version+1), side(t, c.start, n+1, c.level), "%d characters", n+1)
		}
	}
}

func side(t *testing.T, start string, n int, level qrcode.RecoveryLevel) int {
	filler := "X"
	if start == strings.ToLower(start) {
		filler = "x"
	}
	s, err := newSymbol(start+strings.Repeat(filler, n-len(start)), level)
	require.NoError(t, err)
	return len(s.dark)
}

func TestSymbolTakesLevelHAndFallsBackToQ(t *testing.T) {
	const payload = "HTTPS://TIDEMARK.STBRIGID.EXAMPLE/S/K7QM3XK" // 43: version 4 at H, 3 at Q
	for name, c := range map[string]struct {
		side  float64 // mm
		level string
		least float64
	}{
		"H at just 0.4 mm":            {41 * .4, "H", .4},
		"Q when H would be too small": {41*.4 - .01, "Q", .4},
		"Q at just 0.4 mm":            {37 * .4, "Q", .4},
	} {
		s, module, _, err := fitSymbol(payload, c.side, 0)
		require.NoError(t, err, name)
		require.GreaterOrEqual(t, module, c.least-1e-9, name)
		r, ok := scan(drawn(s, 4))
		require.True(t, ok, name)
		require.Equal(t, c.level,
			r.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL], name)
		require.Equal(t, payload, r.GetText(), name)
	}
	_, module, need, err := fitSymbol(payload, 37*.4-.01, 0)
	require.NoError(t, err)
	require.Zero(t, module, "refused rather than too fine")
	require.InDelta(t, 14.8, need, 1e-9)
}

func TestModulesAreWholeDots(t *testing.T) {
	const payload = "HTTPS://TIDEMARK.STBRIGID.EXAMPLE/S/K7QM3XK"
	dot := 25.4 / 203
	_, module, _, err := fitSymbol(payload, 23, dot) // 0.561 mm would fit: 4.48 dots
	require.NoError(t, err)
	require.InDelta(t, 4*dot, module, 1e-9)

	_, module, need, err := fitSymbol(payload, 37*.45, dot) // 3 dots are 0.375 mm: too fine
	require.NoError(t, err)
	require.Zero(t, module)
	require.InDelta(t, 37*4*dot, need, 1e-9)
}

func TestRunsCoverExactlyTheDarkModules(t *testing.T) {
	s, err := newSymbol("HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK", qrcode.Highest)
	require.NoError(t, err)
	covered := map[image.Point]bool{}
	for r := range s.runs() {
		for x := r.x; x < r.x+r.w; x++ {
			require.NotContains(t, covered, image.Pt(x, r.y), "twice")
			covered[image.Pt(x, r.y)] = true
		}
	}
	for y, row := range s.dark {
		for x, dark := range row {
			require.Equal(t, dark, covered[image.Pt(x, y)], "%d %d", x, y)
		}
	}
	for range s.runs() {
		break // an iterator that goes on after a break panics
	}
}

func TestAddressOfAnyRealLengthReads(t *testing.T) {
	for n := 1; n <= 60; n++ {
		u, err := URL("https://"+strings.Repeat("h", n)+".example", newCode(t))
		require.NoError(t, err)
		s, module, _, err := fitSymbol(u, 30, 0)
		require.NoError(t, err)
		require.GreaterOrEqual(t, module, leastModule)
		requireReads(t, u, drawn(s, 3), u)
	}
}

func TestNoSymbolHoldsANovel(t *testing.T) {
	_, _, _, err := fitSymbol(strings.Repeat("X", 5000), 1000, 0)
	require.ErrorContains(t, err, "encode QR symbol")
}

func TestTerminalShowsAReadableSymbol(t *testing.T) {
	const payload = "HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK"
	text, err := Terminal(payload)
	require.NoError(t, err)
	requireReads(t, payload, screen(text), "terminal")

	_, err = Terminal("")
	require.Error(t, err)
}

// screen draws half-block characters as a terminal with light text does.
func screen(text string) image.Image {
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	const px = 4
	img := image.NewGray(image.Rect(0, 0, px*len([]rune(lines[0])), 2*px*len(lines)))
	for row, line := range lines {
		for col, r := range []rune(line) {
			for y := range 2 * px {
				if r == '█' || r == '▀' && y < px || r == '▄' && y >= px {
					for x := range px {
						img.SetGray(px*col+x, 2*px*row+y, color.Gray{255})
					}
				}
			}
		}
	}
	return img
}
