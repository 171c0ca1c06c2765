package photo

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"
	"pgregory.net/rapid"
)

// naiveMean is the mean of plane p over the new pixel (x, y) of w by h, in
// floating point and by area alone: sample (i, j) counts by how much of it, and
// of the old picture, the new pixel covers.
func naiveMean(r raster, p plane, w, h, x, y int) float64 {
	overlap := func(n, size, i, old, sub int) float64 {
		from, to := float64(n)*float64(old)/float64(size), float64(n+1)*float64(old)/float64(size)
		return max(0, min(to, float64((i+1)*sub))-max(from, float64(i*sub)))
	}
	var sum, area float64
	for j := 0; j*p.sy < r.height; j++ {
		for i := 0; i*p.sx < r.width; i++ {
			a := overlap(x, w, i, r.width, p.sx) * overlap(y, h, j, r.height, p.sy)
			sum, area = sum+a*float64(p.pix[j*p.stride+i]), area+a
		}
	}
	return sum / area
}

func TestShrinkIsTheMeanOverTheArea(t *testing.T) {
	samplings := [][2]int{{1, 1}, {2, 1}, {2, 2}, {1, 2}, {4, 1}, {4, 2}}
	rapid.Check(t, func(t *rapid.T) {
		pixels := rapid.IntRange(1, 24)
		width, height := pixels.Draw(t, "width"), pixels.Draw(t, "height")
		side, padding := pixels.Draw(t, "side"), rapid.IntRange(0, 3).Draw(t, "padding")
		s := rapid.SampledFrom(samplings).Draw(t, "sampling")
		p := plane{stride: (width+s[0]-1)/s[0] + padding, sx: s[0], sy: s[1]}
		n := p.stride * ((height + s[1] - 1) / s[1])
		p.pix = rapid.SliceOfN(rapid.Byte(), n, n).Draw(t, "samples")
		r := raster{width, height, []plane{p}}

		small := r.shrink(side)
		require.LessOrEqual(t, max(small.width, small.height), max(side, 1))
		for y := range small.height {
			for x := range small.width {
				want := naiveMean(r, p, small.width, small.height, x, y)
				got := float64(small.planes[0].pix[y*small.planes[0].stride+x])
				require.LessOrEqual(t, math.Abs(got-want), .5+1e-9, "pixel %d,%d: %v for %v", x, y, got, want)
			}
		}
	})
}

func TestShrinkByWholeNumbersAgreesWithTheBoxKernel(t *testing.T) {
	// Reference: golang.org/x/image/draw with a box of one old-to-new ratio.
	old := image.NewGray(image.Rect(0, 0, 640, 400))
	for i := range old.Pix {
		old.Pix[i] = uint8(i * i / 7)
	}
	want := image.NewGray(image.Rect(0, 0, 160, 100))
	box := &draw.Kernel{Support: .5, At: func(float64) float64 { return 1 }}
	box.Scale(want, want.Rect, old, old.Rect, draw.Src, nil)
	got := greyRaster(old).shrink(160)
	for i, v := range want.Pix {
		require.InDelta(t, v, got.planes[0].pix[i], 1)
	}
}

func TestSizesKeepTheirShape(t *testing.T) {
	for _, c := range [][4]int{
		{4000, 3000, 1600, 1200}, {3000, 4000, 1200, 1600}, {1600, 1, 1600, 1}, {1601, 1601, 1600, 1600},
		{65535, 1, 1600, 1}, {1, 65535, 1, 1600}, {20, 10, 20, 10}, {4032, 3024, 1600, 1200},
	} {
		w, h := fit(c[0], c[1], keptSide)
		require.Equal(t, [2]int{c[2], c[3]}, [2]int{w, h})
	}
}
