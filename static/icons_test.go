package static_test

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

var drawIcons = flag.Bool("draw-icons", false, "write the PNG icons anew")

// The committed PNG icons are drawn here, from the numbers of icons/mark.svg, so that they can
// be changed together. The picture is three stripes right across, so no mask can cut what
// matters (W3C Web Application Manifest, "Icon masks and safe zone").
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

// mark draws the flap, the band with its ribs and what lies below, on a square of the given
// size without rounded corners: the device cuts its own.
func mark(size int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, size, size))
	stripe := func(from, to float64, hex string) {
		at := func(y float64) int { return int(math.Round(y * float64(size) / 32)) }
		draw.Draw(img, image.Rect(0, at(from), size, at(to)), paint(hex), image.Point{}, draw.Src)
	}
	stripe(0, 12, "18232e")
	stripe(12, 21, "0b7f86")
	stripe(14.5, 15.5, "e8dac6")
	stripe(17.5, 18.5, "e8dac6")
	stripe(21, 32, "e8dac6")
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
