package photo_test

import (
	"fmt"
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/photo"
)

// sides is TIFF 6.0 (section 8, Orientation) in its own words: where the stored
// picture's row 0 and column 0 are seen.
var sides = map[int]struct{ row, column string }{
	1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
	5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
}

// stored gives what a camera held that way stores of an upright picture.
func stored(upright image.Image, orientation int) *image.RGBA {
	w, h := upright.Bounds().Dx(), upright.Bounds().Dy()
	rows, columns := h, w
	if orientation >= 5 {
		rows, columns = w, h
	}
	m := image.NewRGBA(image.Rect(0, 0, columns, rows))
	for row := range rows {
		for column := range columns {
			x, y := 0, 0
			see := func(side string, n int) {
				switch side {
				case "top":
					y = n
				case "bottom":
					y = h - 1 - n
				case "left":
					x = n
				case "right":
					x = w - 1 - n
				}
			}
			see(sides[orientation].row, row)
			see(sides[orientation].column, column)
			m.Set(column, row, upright.At(x, y))
		}
	}
	return m
}

func TestEveryOrientationComesOutUpright(t *testing.T) {
	// Blocks of whole JPEG units, so that their colours survive at both ends.
	upright := image.NewRGBA(image.Rect(0, 0, 64, 32))
	corners := []color.RGBA{
		{200, 40, 40, 255}, {40, 160, 60, 255}, {50, 60, 190, 255}, {230, 230, 230, 255},
	}
	for y := range 32 {
		for x := range 64 {
			upright.SetRGBA(x, y, corners[x/32+2*(y/16)])
		}
	}
	for o := 1; o <= 8; o++ {
		for _, little := range []bool{false, true} {
			name := fmt.Sprintf("orientation %d little-endian %t", o, little)
			b := withSegments(encode(t, stored(upright, o), 95),
				exifSegment(exif{orientation: uint16(o), littleEndian: little}))
			p, err := photo.Intake(b)
			require.NoError(t, err, name)
			require.Equal(t, [2]int{64, 32}, [2]int{p.Width, p.Height}, name)
			requireAlike(t, upright, decode(t, p.JPEG), 6, name)
		}
	}
}

func TestOddSizesTurnWithoutLosingAnEdge(t *testing.T) {
	// A slope on which every step is seen, at a size that fits no JPEG unit, in
	// a PNG whose orientation stands in its eXIf chunk.
	upright := image.NewGray(image.Rect(0, 0, 61, 37))
	for y := range 37 {
		for x := range 61 {
			upright.SetGray(x, y, color.Gray{uint8(10 + 2*x + 3*y)})
		}
	}
	for o := range sides {
		b := withChunk(encodePNG(t, stored(upright, o)), "eXIf", exif{orientation: uint16(o)}.tiff())
		p, err := photo.Intake(b)
		require.NoError(t, err)
		require.Equal(t, [2]int{61, 37}, [2]int{p.Width, p.Height}, "orientation %d", o)
		requireAlike(t, upright, decode(t, p.JPEG), 4, "orientation %d", o)
	}
}

func TestOddOrientationTagsCountAsUpright(t *testing.T) {
	m := drawTints(48, 32)
	plain, err := photo.Intake(encode(t, m, 90))
	require.NoError(t, err)
	whole := exif{orientation: 6}.tiff()
	for name, tiff := range map[string][]byte{
		"value 0":                    exif{orientation: 0}.tiff(),
		"value 9":                    exif{orientation: 9}.tiff(),
		"value 65535":                exif{orientation: 65535}.tiff(),
		"no block":                   nil,
		"cut in the header":          whole[:6],
		"cut before the tag's entry": whole[:10+12],
		"cut within the tag's entry": whole[:10+2*12-1],
		"directory beyond the block": append([]byte("MM\x00\x2a\xff\xff\xff\xff"), whole[8:]...),
		"neither byte order":         append([]byte("XX\x2a\x00"), whole[4:]...),
		"directory claims 65535 parts": []byte("MM\x00\x2a\x00\x00\x00\x08\xff\xff" +
			strings.Repeat("\x00", 40)),
	} {
		b := withSegments(encode(t, m, 90), segment(0xe1, append([]byte("Exif\x00\x00"), tiff...)))
		p, err := photo.Intake(b)
		require.NoError(t, err, name)
		require.Equal(t, plain.JPEG, p.JPEG, name)
	}
}

// requireAlike compares every pixel; a JPEG's rounding may take some levels.
func requireAlike(t testing.TB, want, got image.Image, levels int, message ...any) {
	t.Helper()
	require.Equal(t, want.Bounds().Size(), got.Bounds().Size(), message...)
	for y := range want.Bounds().Dy() {
		for x := range want.Bounds().Dx() {
			if d := distance(want.At(x, y), got.At(x, y)); d > levels {
				require.Failf(t, "pixels differ", "at %d,%d by %d levels: %v", x, y, d, message)
			}
		}
	}
}

// distance is the greatest difference of red, green and blue, 0 to 255.
func distance(a, b color.Color) int {
	r1, g1, b1, _ := a.RGBA()
	r2, g2, b2, _ := b.RGBA()
	apart := func(p, q uint32) int { return max(int(p>>8)-int(q>>8), int(q>>8)-int(p>>8)) }
	return max(apart(r1, r2), apart(g1, g2), apart(b1, b2))
}
