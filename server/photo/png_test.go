package photo_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/photo"
)

const (
	pngStart = 8           // bytes of the signature
	pngIHDR  = 8 + 12 + 13 // bytes up to the end of the header chunk
	endChunk = 12          // bytes of IEND
	grey     = 0           // colour type
	plain    = 0           // no interlace
	adam7    = 1           // interlaced
)

// chunk frames a PNG chunk (W3C PNG 5.3).
func chunk(kind string, data []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	b = append(append(b, kind...), data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// pngFile writes a PNG by hand; raw is its filtered rows before compression.
func pngFile(w, h uint32, depth, colour, interlace byte, raw []byte) []byte {
	header := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	header = append(header, depth, colour, 0, 0, interlace)
	var data bytes.Buffer
	z := zlib.NewWriter(&data)
	z.Write(raw)
	z.Close()
	return slices.Concat([]byte("\x89PNG\r\n\x1a\n"),
		chunk("IHDR", header), chunk("IDAT", data.Bytes()), chunk("IEND", nil))
}

func encodePNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

func withChunk(file []byte, kind string, data []byte) []byte {
	return slices.Concat(file[:pngIHDR], chunk(kind, data), file[pngIHDR:])
}

func TestBombsAreRefusedBeforeTheyUnfold(t *testing.T) {
	// 200 megapixels of one bit, all black: 25 MB of rows in some 24 kB.
	bomb := pngFile(20_000, 10_000, 1, grey, plain, make([]byte, 10_000*(1+20_000/8)))
	require.Less(t, len(bomb), 50_000)
	header := pngFile(60_000, 60_000, 8, 6, plain, nil)[:pngIHDR+endChunk]
	require.Len(t, header, 45)
	for name, b := range map[string][]byte{"200 megapixels": bomb, "a header alone": header} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := photo.Intake(b)
		runtime.ReadMemStats(&after)
		require.Equal(t, fault.TooLarge, fault.CodeOf(err), name)
		require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(100_000), name)
	}
}

func TestTransparentPNGIsLaidOnWhite(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 48, 16))
	colours := []color.NRGBA{{200, 0, 0, 0}, {0, 0, 0, 128}, {40, 90, 160, 255}}
	for y := range 16 {
		for x := range 48 {
			m.SetNRGBA(x, y, colours[x/16])
		}
	}
	p, err := photo.Intake(encodePNG(t, m))
	require.NoError(t, err)
	got := decode(t, p.JPEG)
	// c*a + 255*(1-a), by hand.
	for i, want := range []color.RGBA{{255, 255, 255, 255}, {127, 127, 127, 255}, {40, 90, 160, 255}} {
		require.LessOrEqual(t, distance(want, got.At(16*i+8, 8)), 3, "block %d", i)
	}
}

func TestEveryEightBitPNGIsTaken(t *testing.T) {
	grey := image.NewGray(image.Rect(0, 0, 20, 10))
	palette := image.NewPaletted(grey.Rect, color.Palette{color.White, color.Black})
	clear := image.NewPaletted(grey.Rect, color.Palette{color.Transparent, color.Black})
	pixel := []byte{0, 0x80} // one row: no filter, one bit set
	for name, b := range map[string][]byte{
		"grey":                  encodePNG(t, grey),
		"palette":               encodePNG(t, palette),
		"palette with alpha":    encodePNG(t, clear),
		"colour":                encodePNG(t, drawTints(20, 10)),
		"one bit, a single one": pngFile(1, 1, 1, 0, plain, pixel),
	} {
		p, err := photo.Intake(b)
		require.NoError(t, err, name)
		require.Positive(t, p.Width*p.Height, name)
	}
}

func TestInterlacedPNGIsTheSamePicture(t *testing.T) {
	m := image.NewGray(image.Rect(0, 0, 21, 13))
	for i := range m.Pix {
		m.Pix[i] = uint8(5 * (i % 21))
	}
	want, err := photo.Intake(encodePNG(t, m))
	require.NoError(t, err)
	// The seven passes of Adam7 (W3C PNG 8.2): first column and row, steps.
	passes := [][4]int{
		{0, 0, 8, 8}, {4, 0, 8, 8}, {0, 4, 4, 8}, {2, 0, 4, 4},
		{0, 2, 2, 4}, {1, 0, 2, 2}, {0, 1, 1, 2},
	}
	var raw []byte
	for _, p := range passes {
		for y := p[1]; y < 13; y += p[3] {
			raw = append(raw, 0) // no filter
			for x := p[0]; x < 21; x += p[2] {
				raw = append(raw, m.GrayAt(x, y).Y)
			}
		}
	}
	got, err := photo.Intake(pngFile(21, 13, 8, grey, adam7, raw))
	require.NoError(t, err)
	require.Equal(t, want, got)
}

func TestLongestLineKeepsItsBrightness(t *testing.T) {
	// One pixel wide and all the 12 million allowed high: each row is a filter
	// byte, none, and a white pixel.
	const rows = 12_000_000
	line := bytes.Repeat([]byte{0, 255}, rows)
	p, err := photo.Intake(pngFile(1, rows, 8, grey, plain, line))
	require.NoError(t, err)
	require.Equal(t, [2]int{1, 1600}, [2]int{p.Width, p.Height})
	require.LessOrEqual(t, distance(color.White, decode(t, p.JPEG).At(0, 800)), 1)
}

func TestWhatHangsOnAPNGIsDropped(t *testing.T) {
	b := encodePNG(t, drawTints(40, 30))
	want, err := photo.Intake(b)
	require.NoError(t, err)
	animated := withChunk(b, "acTL", []byte{0, 0, 0, 2, 0, 0, 0, 0})
	texts := withChunk(b, "tEXt", []byte("Comment\x0012.576 S 23.761 W"))
	for name, b := range map[string][]byte{
		"animation":        animated,
		"text":             texts,
		"an archive after": append(slices.Clone(b), "PK\x03\x04 and so on"...),
	} {
		got, err := photo.Intake(b)
		require.NoError(t, err, name)
		require.Equal(t, want, got, name)
	}
}

func TestPNGsThatAreNotTaken(t *testing.T) {
	wide := image.NewNRGBA64(image.Rect(0, 0, 4, 4))
	good := encodePNG(t, drawTints(40, 30))
	wrong := slices.Clone(good)
	wrong[len(wrong)-endChunk-6] ^= 1 // the picture's own checksum
	for name, c := range map[string]struct {
		file []byte
		code fault.Code
		say  string
	}{
		"16 bits grey":        {encodePNG(t, image.NewGray16(wide.Rect)), fault.Unsupported, "16 bits"},
		"16 bits colour":      {encodePNG(t, wide), fault.Unsupported, "16 bits"},
		"12 million and more": {pngFile(4000, 3001, 8, 2, plain, nil), fault.TooLarge, "4000 x 3001"},
		"no data":             {pngFile(40, 30, 8, 2, plain, nil), fault.Invalid, "cut short"},
		"cut":                 {good[:len(good)/2], fault.Invalid, "cut short"},
		"cut in the header":   {good[:pngStart+5], fault.Invalid, "cut short"},
		"a changed byte":      {wrong, fault.Invalid, "damaged"},
		"no such colour type": {pngFile(4, 4, 8, 1, plain, nil), fault.Unsupported, "rare way"},
		"no width":            {pngFile(0, 4, 8, 2, plain, nil), fault.Invalid, "damaged"},
	} {
		requireRefused(t, name, c.file, c.code, c.say)
	}
}
