package labels

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/require"
	xdraw "golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// scan reads the one symbol in img as a phone does, which is never still: in
// several frames, and with both ways to tell dark from light. In one frame,
// gozxing takes data for a finder now and then. It shares nothing with the
// library that draws the symbols.
func scan(img image.Image) (*gozxing.Result, bool) {
	for _, frame := range []struct{ scale, degrees float64 }{
		{1, 0}, {.5, 0}, {2, 0}, {.75, 0}, {1, 5}, {.8, 10}, {.6, 20},
	} {
		source := gozxing.NewLuminanceSourceFromImage(moved(img, frame.scale, frame.degrees))
		for _, binarizer := range []gozxing.Binarizer{
			gozxing.NewHybridBinarizer(source), gozxing.NewGlobalHistgramBinarizer(source),
		} {
			bitmap, err := gozxing.NewBinaryBitmap(binarizer)
			if err != nil {
				continue
			}
			hints := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true}
			if r, err := qrcode.NewQRCodeReader().Decode(bitmap, hints); err == nil {
				return r, true
			}
		}
	}
	return nil, false
}

// moved scales img and turns it about its middle, on a white ground with room
// for all of it.
func moved(img image.Image, scale, degrees float64) image.Image {
	if scale == 1 && degrees == 0 {
		return img
	}
	in := img.Bounds()
	w, h := scale*float64(in.Dx()), scale*float64(in.Dy())
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	wide := math.Ceil(w*math.Abs(cos) + h*math.Abs(sin))
	high := math.Ceil(w*math.Abs(sin) + h*math.Abs(cos))
	out := image.NewGray(image.Rect(0, 0, int(wide), int(high)))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)

	a, b := scale*cos, scale*sin
	x, y := float64(in.Min.X+in.Max.X)/2, float64(in.Min.Y+in.Max.Y)/2
	m := f64.Aff3{a, -b, wide/2 - a*x + b*y, b, a, high/2 - b*x - a*y}
	xdraw.BiLinear.Transform(out, m, img, in, draw.Src, nil)
	return out
}

// requireReads fails unless img holds the payload.
func requireReads(t testing.TB, payload string, img image.Image, name string) {
	t.Helper()
	r, ok := scan(img)
	require.True(t, ok, "%s cannot be read", name)
	require.Equal(t, payload, r.GetText(), name)
}

// drawn returns s on white with its quiet zone, px dots to a module.
func drawn(s symbol, px int) *image.Gray {
	side := (len(s.dark) + 2*quiet) * px
	img := image.NewGray(image.Rect(0, 0, side, side))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	for r := range s.runs() {
		dark := image.Rect(r.x, r.y, r.x+r.w, r.y+1).Add(image.Pt(quiet, quiet))
		dark = image.Rectangle{Min: dark.Min.Mul(px), Max: dark.Max.Mul(px)}
		draw.Draw(img, dark, image.NewUniform(color.Black), image.Point{}, draw.Src)
	}
	return img
}
