package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/bmp"
	"golang.org/x/image/draw"
)

// scene is a picture of 12 megapixels with edges, slopes and grain.
func scene() *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, 4000, 3000))
	for y := range 3000 {
		for x := range 4000 {
			v := 110 + 60*math.Sin(float64(x)/40) + float64(y)/60 + float64((x*31+y*17)%13)
			m.SetRGBA(x, y, color.RGBA{uint8(v), uint8(v * .9), uint8(v * .7), 255})
		}
	}
	return m
}

func sceneJPEG(b *testing.B) []byte {
	var out bytes.Buffer
	require.NoError(b, jpeg.Encode(&out, scene(), &jpeg.Options{Quality: 85}))
	return out.Bytes()
}

// BenchmarkIntake measures whole calls at the limit of 12 megapixels, beside
// decoding alone. B/op is all that a call allocates: the bound of its peak.
func BenchmarkIntake(b *testing.B) {
	intake := func(file []byte) func(*testing.B) {
		return func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := Intake(file)
				require.NoError(b, err)
			}
		}
	}
	file := sceneJPEG(b)
	b.Run("decode alone", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, err := jpeg.Decode(bytes.NewReader(file))
			require.NoError(b, err)
		}
	})
	b.Run("jpeg", intake(file))
	b.Run("png", intake(scenePNG(b)))
	b.Run("progressive 4:2:0", func(b *testing.B) { intake(progressive(b, "2x2"))(b) })
	b.Run("progressive 4:4:4", func(b *testing.B) { intake(progressive(b, "1x1"))(b) })
}

// BenchmarkShrink measures 4000 x 3000 to 1600 x 1200 from the same decoded
// 4:2:0 picture, by area and by two general scalers.
func BenchmarkShrink(b *testing.B) {
	m, err := jpeg.Decode(bytes.NewReader(sceneJPEG(b)))
	require.NoError(b, err)
	b.Run("area, on planes", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			rasterOf(m).shrink(keptSide)
		}
	})
	scalers := map[string]draw.Scaler{
		"ApproxBiLinear": draw.ApproxBiLinear, "CatmullRom": draw.CatmullRom,
	}
	for name, s := range scalers {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				out := image.NewRGBA(image.Rect(0, 0, 1600, 1200))
				s.Scale(out, out.Rect, m, m.Bounds(), draw.Src, nil)
			}
		})
	}
}

func scenePNG(b *testing.B) []byte {
	var out bytes.Buffer
	require.NoError(b, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&out, scene()))
	return out.Bytes()
}

// progressive needs cjpeg, which the standard library has no like of.
func progressive(b *testing.B, sampling string) []byte {
	if _, err := exec.LookPath("cjpeg"); err != nil {
		b.Skip("cjpeg is not installed")
	}
	var in bytes.Buffer
	require.NoError(b, bmp.Encode(&in, scene()))
	command := exec.Command("cjpeg", "-progressive", "-quality", "85", "-sample", sampling)
	command.Stdin = &in
	out, err := command.Output()
	require.NoError(b, err)
	return out
}
