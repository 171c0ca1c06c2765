package demo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
)

// drawChannel draws a photograph of a pouch's seal, with a channel across it so
// many centimetres along a bar of so many: a JPEG.
func drawChannel(cm, of float64) []byte {
	const width, height = 800, 600
	luck := rand.New(rand.NewPCG(seed, uint64(10*cm)))
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	s := seal{top: 240, bottom: 312, channel: width * cm / of}
	for y := range height {
		for x := range width {
			c := s.colour(float64(x), float64(y))
			grain := luck.IntN(13) - 6
			img.SetRGBA(x, y, shade(c, grain))
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 82}); err != nil {
		panic("demo: encode picture: " + err.Error()) // into memory it cannot fail
	}
	return b.Bytes()
}

// seal is a seal across a pouch, seen from the film side. Lengths are pixels.
type seal struct{ top, bottom, channel float64 }

var (
	bench    = [3]int{58, 62, 66}    // beyond the pouch's edge
	film     = [3]int{196, 210, 222} // over paper
	ribs     = [3]int{122, 158, 194} // where film and paper are one
	darkness = [3]int{38, 44, 56}    // of a way through
)

func (s seal) colour(x, y float64) [3]int {
	const edge = 190 // the open end of the pouch
	inside := y >= s.top && y < s.bottom
	bend := s.channel + 7*math.Sin(y/9) + 3*math.Sin(y/4)
	switch {
	case y < edge:
		return bench
	case inside && math.Abs(x-bend) < 4:
		return darkness
	case inside && math.Abs(x-bend) < 9:
		return film
	case inside && math.Mod(y-s.top, 12) < 8:
		return ribs
	}
	return film
}

func shade(c [3]int, by int) color.RGBA {
	level := func(v int) uint8 { return uint8(max(0, min(255, v+by))) }
	return color.RGBA{level(c[0]), level(c[1]), level(c[2]), 255}
}
