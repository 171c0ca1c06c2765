package labels

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

const px = 8 // dots to a module in these tests

// worn is a usual symbol: version 4, level H.
func worn(t *testing.T) (string, symbol) {
	payload, err := URL("https://tidemark.stbrigid.example", newCode(t))
	require.NoError(t, err)
	s, _, _, err := fitSymbol(payload, 30, 0)
	require.NoError(t, err)
	require.Len(t, s.dark, 33)
	return payload, s
}

func TestLabelReadsAtAnyAngle(t *testing.T) {
	payload, s := worn(t)
	for degrees := 0; degrees < 360; degrees += 11 {
		requireReads(t, payload, moved(drawn(s, px), 1, float64(degrees)), fmt.Sprint(degrees))
	}
}

// A third of a module: what a phone sees a little out of focus.
func TestLabelReadsWhenBlurred(t *testing.T) {
	for range 10 {
		payload, s := worn(t)
		requireReads(t, payload, blurred(drawn(s, px), .35*px), "blurred")
	}
}

// Level H mends about 30 % of the codewords (ISO/IEC 18004); a patch of 15 % of
// the area also breaks those at its edges.
func TestLabelReadsUnderAPatchAwayFromTheFinders(t *testing.T) {
	for name, ink := range map[string]color.Gray{
		"tape": {255}, "ink": {0}, "thumb": {128},
	} {
		for range 10 {
			payload, s := worn(t)
			n := float64(len(s.dark))
			side := math.Sqrt(.15) * n
			img := drawn(s, px)
			cover(img, quiet+(n-side)/2, quiet+(n-side)/2, side, ink)
			requireReads(t, payload, img, name)
		}
	}
}

// The lower right corner has no finder but the alignment pattern. zbar reads
// all of these; gozxing a quarter less, since it then takes another spot for
// the pattern, whatever the size of the patch.
func TestLabelReadsWithoutItsLowerRightCorner(t *testing.T) {
	for range 10 {
		payload, s := worn(t)
		n := float64(len(s.dark))
		side := math.Sqrt(.15) * n
		img := drawn(s, px)
		cover(img, quiet+n-side, quiet+n-side, side, color.Gray{255})
		require.Equal(t, []string{payload}, zbar(t, savePGM(t, img)))
	}
}

func TestWornLabelReadsRotatedAndBlurredTogether(t *testing.T) {
	for degrees := 3; degrees < 360; degrees += 41 {
		payload, s := worn(t)
		img := drawn(s, px)
		cover(img, quiet+12, quiet+12, .1*float64(len(s.dark)), color.Gray{255})
		requireReads(t, payload, blurred(moved(img, 1, float64(degrees)).(*image.Gray), .25*px),
			fmt.Sprint(degrees))
	}
}

// The test of the tests: what nothing can read is not read.
func TestPatchOverAFinderDefeatsTheReader(t *testing.T) {
	_, s := worn(t)
	img := drawn(s, px)
	cover(img, quiet, quiet, 9, color.Gray{255})
	_, ok := scan(img)
	require.False(t, ok)
}

// cover paints a square; x, y and side are in modules.
func cover(img *image.Gray, x, y, side float64, ink color.Gray) {
	at := func(v float64) int { return int(math.Round(v * px)) }
	r := image.Rect(at(x), at(y), at(x+side), at(y+side))
	draw.Draw(img, r, image.NewUniform(ink), image.Point{}, draw.Src)
}

// blurred applies a Gaussian of standard deviation sigma dots, in two passes.
func blurred(img *image.Gray, sigma float64) *image.Gray {
	reach := int(math.Ceil(3 * sigma))
	kernel, sum := make([]float64, 2*reach+1), 0.0
	for i := range kernel {
		d := float64(i - reach)
		kernel[i] = math.Exp(-d * d / (2 * sigma * sigma))
		sum += kernel[i]
	}
	pass := func(in *image.Gray, dx, dy int) *image.Gray {
		out := image.NewGray(in.Bounds())
		for y := range in.Bounds().Dy() {
			for x := range in.Bounds().Dx() {
				v := 0.0
				for i, k := range kernel {
					p := image.Pt(x+dx*(i-reach), y+dy*(i-reach))
					if p.In(in.Bounds()) {
						v += k / sum * float64(in.GrayAt(p.X, p.Y).Y)
					} else {
						v += k / sum * 255
					}
				}
				out.SetGray(x, y, color.Gray{uint8(math.Round(v))})
			}
		}
		return out
	}
	return pass(pass(img, 1, 0), 0, 1)
}
