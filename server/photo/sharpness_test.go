package photo

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func grey(w, h int, at func(x, y int) uint8) raster {
	p := plane{make([]uint8, w*h), w, 1, 1}
	for i := range p.pix {
		p.pix[i] = at(i%w, i/w)
	}
	return raster{w, h, []plane{p}}
}

func TestSharpnessOfPicturesKnownInClosedForm(t *testing.T) {
	point := grey(12, 7, func(x, y int) uint8 {
		if x == 5 && y == 3 {
			return 100
		}
		return 0
	})
	// A single point of height a: -4a once and a four times, mean 0: 20 a^2 / n.
	require.InDelta(t, 20*100*100/float64(10*5), sharpness(point), 1e-9)

	board := grey(10, 10, func(x, y int) uint8 { return uint8((x + y) % 2) })
	require.InDelta(t, 16, sharpness(board), 1e-9, "a chessboard of 0 and 1 gives +4 and -4")

	for name, r := range map[string]raster{
		"flat":            grey(30, 20, func(int, int) uint8 { return 90 }),
		"an even slope":   grey(30, 20, func(x, y int) uint8 { return uint8(3*x + 2*y) }),
		"no inner pixels": grey(2, 40, func(x, _ int) uint8 { return uint8(200 * x) }),
		"a single pixel":  grey(1, 1, func(int, int) uint8 { return 7 }),
	} {
		require.Zero(t, sharpness(r), name)
	}
}

func TestSharpnessComparesAcrossCameras(t *testing.T) {
	// The same edges, photographed with twice the pixels.
	scene := func(w int) raster {
		return grey(w, w/2, func(x, y int) uint8 { return uint8(60 + 120*(x*20/w%2) + y*40/w) })
	}
	require.InEpsilon(t, sharpness(scene(800)), sharpness(scene(1600)), .02)
}

func TestSharpnessFallsWithBlur(t *testing.T) {
	scene := grey(1600, 400, func(x, y int) uint8 {
		return uint8(80 + 60*(x/50%2) + 40*(y/30%2) + (x*7+y*13)%5)
	})
	last := math.Inf(1)
	for _, pixels := range []float64{0, 1, 2, 4} {
		s := sharpness(blur(scene, pixels))
		t.Logf("blur %v px: %.2f", pixels, s)
		require.Less(t, s, last, "blur of %v px", pixels)
		last = s
	}
	require.Less(t, last, SharpFrom)
	require.Greater(t, sharpness(scene), SharpFrom)
}

// blur smears a grey picture by a Gaussian of the given standard deviation.
func blur(r raster, sigma float64) raster {
	if sigma == 0 {
		return r
	}
	pix := func(r raster, x, y int) float64 {
		x, y = min(max(x, 0), r.width-1), min(max(y, 0), r.height-1)
		return float64(r.planes[0].pix[y*r.width+x])
	}
	along := func(r raster, dx, dy int) raster {
		return grey(r.width, r.height, func(x, y int) uint8 {
			var sum, weights float64
			for k := -int(3 * sigma); k <= int(3*sigma); k++ {
				w := math.Exp(-float64(k*k) / (2 * sigma * sigma))
				sum, weights = sum+w*pix(r, x+k*dx, y+k*dy), weights+w
			}
			return uint8(math.Round(sum / weights))
		})
	}
	return along(along(r, 1, 0), 0, 1)
}
