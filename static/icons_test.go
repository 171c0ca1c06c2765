package static_test

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/vector"
)

var drawIcons = flag.Bool("draw-icons", false, "write the PNG icons anew")

// The committed PNG icons are drawn here, from the numbers of icons/mark.svg, so that they can
// be changed together. The pouch stays within the middle 80 %, which is the part of a maskable
// icon that no mask cuts (W3C Web Application Manifest, "Icon masks and safe zone"); the band
// runs to the edges on purpose.
func TestIconsAreTheDrawnMark(t *testing.T) {
	for file, size := range map[string]int{
		"icons/maskable-192.png": 192, "icons/maskable-512.png": 512, "icons/touch-180.png": 180,
	} {
		want := encode(t, mark(size))
		if *drawIcons {
			require.NoError(t, os.WriteFile(file, want, 0o644))
		}
		got, err := os.ReadFile(file)
		require.NoError(t, err)
		require.Truef(t, bytes.Equal(want, got), "%s differs: run with -draw-icons", file)

		head, err := png.DecodeConfig(bytes.NewReader(got))
		require.NoError(t, err)
		require.Equal(t, []int{size, size}, []int{head.Width, head.Height})
	}
}

// mark draws the pouch and its band on a square of the given size, without rounded corners:
// the device cuts its own.
func mark(size int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, size, size))
	draw.Draw(img, img.Bounds(), paint("18232e"), image.Point{}, draw.Src)
	s := float32(size) / 32

	shape := vector.NewRasterizer(size, size)
	shape.MoveTo(9*s, 8*s)
	shape.QuadTo(16*s, 4.5*s, 23*s, 8*s)
	shape.LineTo(23*s, 26*s)
	shape.LineTo(9*s, 26*s)
	shape.ClosePath()
	shape.Draw(img, img.Bounds(), paint("faf5ed"), image.Point{})

	band := image.Rect(0, int(17*s), size, int(23*s))
	draw.Draw(img, band, paint("0b7f86"), image.Point{}, draw.Src)
	return img
}

func paint(hex string) *image.Uniform {
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		panic(err)
	}
	return image.NewUniform(color.RGBA{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n), A: 255})
}

func encode(t *testing.T, img image.Image) []byte {
	t.Helper()
	var buf bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestCompression}
	require.NoError(t, enc.Encode(&buf, img))
	return buf.Bytes()
}
