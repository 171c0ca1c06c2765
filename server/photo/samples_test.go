package photo_test

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/bmp"
)

var update = flag.Bool("update", false, "draw testdata/photos again (needs cjpeg and convert)")

const samples = "../../testdata/photos"

func sample(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(samples, name))
	require.NoError(t, err)
	return b
}

// TestSamplesAreSmallAndComplete draws the samples again when asked to.
func TestSamplesAreSmallAndComplete(t *testing.T) {
	if *update {
		drawSamples(t)
	}
	files, err := filepath.Glob(filepath.Join(samples, "*.jpg"))
	require.NoError(t, err)
	require.Len(t, files, 11)
	total := 0
	for _, f := range files {
		total += len(sample(t, filepath.Base(f)))
	}
	require.Less(t, total, 200_000)
}

func drawSamples(t *testing.T) {
	card := drawCard(1800, 1350)
	write := func(name string, b []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(samples, name), b, 0o644))
	}
	turbo := func(m image.Image, args ...string) []byte {
		return pipe(t, bmpOf(t, m), "cjpeg", args...)
	}
	write("channel.jpg", encode(t, card, 70))
	small := drawCard(640, 480)
	write("location.jpg", withSegments(encode(t, small, 70),
		exifSegment(exif{orientation: 1, place: true}), xmpSegment()))
	write("rotated.jpg", withSegments(encode(t, stored(small, 6), 70),
		exifSegment(exif{orientation: 6, littleEndian: true})))
	write("progressive.jpg", turbo(small, "-progressive", "-quality", "70"))

	tints := drawTints(96, 72)
	for name, sampling := range map[string]string{
		"444": "1x1", "422": "2x1", "420": "2x2", "440": "1x2", "411": "4x1",
	} {
		write("chroma"+name+".jpg", turbo(tints, "-sample", sampling, "-quality", "90"))
	}
	write("arithmetic.jpg", turbo(tints, "-arithmetic"))
	write("cmyk.jpg", pipe(t, bmpOf(t, tints), "convert", "bmp:-", "-colorspace", "CMYK", "jpg:-"))
}

// drawCard draws an invented photograph: a peel pouch on a dark card, its seal
// ribbed, and a channel across the seal right of the middle. The same size gives
// the same picture.
func drawCard(width, height int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	grain := rand.New(rand.NewPCG(7, 12))
	for y := range height {
		for x := range width {
			r, g, b := shade(float64(x)/float64(width), float64(y)/float64(height))
			n := 2 * grain.NormFloat64()
			m.SetRGBA(x, y, color.RGBA{level(r + n), level(g + n), level(b + n), 255})
		}
	}
	return m
}

// shade is the card's colour at a place in fractions of its width and height.
func shade(u, v float64) (r, g, b float64) {
	light := 1 - .3*math.Hypot(u-.4, v-.4)
	switch {
	case u < .08 || u > .92 || v < .12: // the card
		return 44 * light, 48 * light, 54 * light
	case v < .34 || v > .46: // film over paper
		return 205 * light, 214 * light, 222 * light
	}
	channel := .62 + .01*math.Sin(40*v)
	if math.Abs(u-channel) < .004 {
		return 228 * light, 232 * light, 232 * light
	}
	rib := 22 * math.Sin(2*math.Pi*v/.02)
	return (148 + rib) * light, (170 + rib) * light, (186 + rib) * light
}

// drawTints draws slow changes of brightness and colour, which every chroma
// sampling can hold.
func drawTints(width, height int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			u, v := float64(x)/float64(width), float64(y)/float64(height)
			m.SetRGBA(x, y, color.RGBA{level(60 + 160*u), level(200 - 140*v), level(90 + 80*u*v), 255})
		}
	}
	return m
}

func level(v float64) uint8 { return uint8(min(max(math.Round(v), 0), 255)) }

func encode(t testing.TB, m image.Image, quality int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}))
	return b.Bytes()
}

func decode(t testing.TB, b []byte) image.Image {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	return m
}

func bmpOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, bmp.Encode(&b, m))
	return b.Bytes()
}

func pipe(t testing.TB, in []byte, name string, args ...string) []byte {
	t.Helper()
	command := exec.Command(name, args...)
	command.Stdin = bytes.NewReader(in)
	out, err := command.Output()
	require.NoError(t, err, name)
	return out
}
