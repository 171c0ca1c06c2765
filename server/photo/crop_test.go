package photo_test

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/photo"
)

func TestCutOutShowsTheMarkedPlaceEnlarged(t *testing.T) {
	// 160 x 96 in blocks of 32: block (i, j) has red 50*i and blue 80*j.
	m := image.NewRGBA(image.Rect(0, 0, 160, 96))
	for y := range 96 {
		for x := range 160 {
			m.SetRGBA(x, y, color.RGBA{uint8(50 * (x / 32)), 60, uint8(80 * (y / 32)), 255})
		}
	}
	photograph := encode(t, m, 95)
	for name, c := range map[string]struct {
		x, y, width float64
		want        color.RGBA // in the middle of the cut-out
	}{
		"the middle":        {.5, .5, .2, color.RGBA{100, 60, 80, 255}},
		"left of it":        {.3, .5, .2, color.RGBA{50, 60, 80, 255}},
		"a corner, inwards": {1, 1, .2, color.RGBA{200, 60, 160, 255}},
		"another, inwards":  {0, 0, .2, color.RGBA{0, 60, 0, 255}},
	} {
		b, err := photo.Crop(photograph, c.x, c.y, c.width)
		require.NoError(t, err, name)
		got := decode(t, b)
		require.Equal(t, image.Pt(800, 475), got.Bounds().Size(), "%s: 32 x 19 pixels, 25 times", name)
		require.LessOrEqual(t, distance(c.want, got.At(400, 237)), 5, name)
	}
}

func TestWholePhotographIsCutOutAsItIs(t *testing.T) {
	p, err := photo.Intake(sample(t, "channel.jpg"))
	require.NoError(t, err)
	b, err := photo.Crop(p.JPEG, .2, .9, 1)
	require.NoError(t, err)
	require.Less(t, meanDistance(decode(t, p.JPEG), decode(t, b)), 2.)
}

func TestSmallestCutOutStillShowsSomething(t *testing.T) {
	b, err := photo.Crop(sample(t, "channel.jpg"), .5, .5, 1e-9)
	require.NoError(t, err)
	require.Equal(t, image.Pt(800, 800), decode(t, b).Bounds().Size())
}

func TestPlacesOutsideAreRefused(t *testing.T) {
	for _, at := range [][3]float64{
		{-.1, .5, .5}, {1.1, .5, .5}, {.5, -.1, .5}, {.5, 2, .5}, {.5, .5, 0}, {.5, .5, 1.1},
		{math.NaN(), .5, .5}, {.5, math.NaN(), .5}, {.5, .5, math.NaN()}, {math.Inf(1), .5, .5},
	} {
		_, err := photo.Crop(sample(t, "channel.jpg"), at[0], at[1], at[2])
		require.Equal(t, fault.Invalid, fault.CodeOf(err), "%v", at)
	}
	_, err := photo.Crop([]byte("text"), .5, .5, .5)
	require.Equal(t, fault.Unsupported, fault.CodeOf(err))
}
