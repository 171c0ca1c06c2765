package labels

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// filled draws a path of Draw's form, m pixels to a module, as a browser would.
func filled(t *testing.T, d Drawing, m int) image.Image {
	img := image.NewGray(image.Rect(0, 0, d.Side*m, d.Side*m))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	for part := range strings.SplitSeq(strings.TrimSuffix(d.Path, "z"), "z") {
		var x, y, w, back int
		_, err := fmt.Sscanf(part, "M%d %dh%dv1h-%d", &x, &y, &w, &back)
		require.NoError(t, err, part)
		require.Equal(t, w, back)
		dark := image.Rect(x*m, y*m, (x+w)*m, (y+1)*m)
		draw.Draw(img, dark, image.NewUniform(color.Black), image.Point{}, draw.Src)
	}
	return img
}

func TestADrawingReads(t *testing.T) {
	for _, payload := range []string{
		"HTTPS://TIDE.EXAMPLE/S/K7QM3XK",
		"https://tide.example/device?code=7K3M9Q2X",
	} {
		d, err := Draw(payload)
		require.NoError(t, err)
		got, ok := scan(filled(t, d, 6))
		require.True(t, ok, payload)
		require.Equal(t, payload, got.GetText())
	}
}

// ISO/IEC 18004: a side is 17+4v modules, the quiet zone 4 on each side.
func TestADrawingHasItsQuietZone(t *testing.T) {
	d, err := Draw("HTTPS://TIDE.EXAMPLE/S/K7QM3XK")
	require.NoError(t, err)
	require.Zero(t, (d.Side-2*4-17)%4)
	img := filled(t, d, 1).(*image.Gray)
	for i := range d.Side {
		for j := range 4 {
			for _, at := range [][2]int{{i, j}, {j, i}, {i, d.Side - 1 - j}, {d.Side - 1 - j, i}} {
				require.Equal(t, uint8(255), img.GrayAt(at[0], at[1]).Y, at)
			}
		}
	}
}
