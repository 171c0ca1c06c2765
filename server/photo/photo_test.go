package photo_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/photo"
)

func TestPhotographIsShrunkAndStillShowsItsChannel(t *testing.T) {
	p, err := photo.Intake(sample(t, "channel.jpg"))
	require.NoError(t, err)
	require.Equal(t, [2]int{1600, 1200}, [2]int{p.Width, p.Height})
	require.False(t, p.Blurred)
	// The channel runs through .62 of the width at .40 of the height.
	m := decode(t, p.JPEG)
	require.Equal(t, image.Pt(1600, 1200), m.Bounds().Size())
	light := func(x int) int { r, _, _, _ := m.At(x, 480).RGBA(); return int(r >> 8) }
	brightest := 960
	for x := 960; x < 1040; x++ {
		if light(x) > light(brightest) {
			brightest = x
		}
	}
	require.InDelta(t, .62*1600, brightest, .016*1600)

	again, err := photo.Intake(sample(t, "channel.jpg"))
	require.NoError(t, err)
	require.Equal(t, p, again, "the same bytes give the same photograph")
}

func TestLocationDoesNotGoOn(t *testing.T) {
	b := sample(t, "location.jpg")
	secrets := []string{
		"Exif", "GPS", "12,34.5678", "23,45.6789", "12.576", "2026:03:04", "ns.adobe.com",
		"\x00\x05\x46\x4e\x00\x00\x27\x10", // 345678/10000, minutes of latitude
		"\x00\x06\xf8\x55\x00\x00\x27\x10", // 456789/10000, minutes of longitude
	}
	p, err := photo.Intake(b)
	require.NoError(t, err)
	cutOut, err := photo.Crop(b, .5, .5, .5)
	require.NoError(t, err)
	for _, s := range secrets {
		require.Contains(t, string(b), s, "the sample has it")
		require.NotContains(t, string(p.JPEG), s)
		require.NotContains(t, string(cutOut), s)
	}
	require.Empty(t, metadata(p.JPEG))
	require.Empty(t, metadata(cutOut))
}

// metadata lists the application and comment segments before the picture's data
// (ITU-T T.81 table B.1: APP0 to APP15 and COM).
func metadata(jpeg []byte) (found []byte) {
	for i := 2; i+4 <= len(jpeg) && jpeg[i+1] != 0xda; {
		if m := jpeg[i+1]; m&0xf0 == 0xe0 || m == 0xfe {
			found = append(found, m)
		}
		i += 2 + int(binary.BigEndian.Uint16(jpeg[i+2:]))
	}
	return found
}

func TestSamplesComeOutUpright(t *testing.T) {
	want := drawCard(640, 480)
	for _, name := range []string{"location.jpg", "rotated.jpg", "progressive.jpg"} {
		p, err := photo.Intake(sample(t, name))
		require.NoError(t, err, name)
		require.Equal(t, [2]int{640, 480}, [2]int{p.Width, p.Height}, name)
		require.Less(t, meanDistance(want, decode(t, p.JPEG)), 5., name)
	}
}

// meanDistance is the mean over all pixels of the greatest channel difference.
func meanDistance(a, b image.Image) float64 {
	sum, size := 0, a.Bounds().Size()
	for y := range size.Y {
		for x := range size.X {
			sum += distance(a.At(x, y), b.At(x, y))
		}
	}
	return float64(sum) / float64(size.X*size.Y)
}

func TestEveryChromaSamplingKeepsItsColours(t *testing.T) {
	want := drawTints(96, 72)
	for _, name := range []string{"444", "422", "420", "440", "411"} {
		p, err := photo.Intake(sample(t, "chroma"+name+".jpg"))
		require.NoError(t, err, name)
		require.Less(t, meanDistance(want, decode(t, p.JPEG)), 3., name)
	}
}

func TestGreyStaysGrey(t *testing.T) {
	m := image.NewGray(image.Rect(0, 0, 2000, 100))
	for i := range m.Pix {
		m.Pix[i] = uint8(i % 2000 / 10)
	}
	p, err := photo.Intake(encode(t, m, 90))
	require.NoError(t, err)
	require.Equal(t, [2]int{1600, 80}, [2]int{p.Width, p.Height})
	got, ok := decode(t, p.JPEG).(*image.Gray)
	require.True(t, ok)
	require.InDelta(t, 100, got.GrayAt(800, 40).Y, 2)
}

func TestJPEGStoredAsRGBKeepsItsColours(t *testing.T) {
	// T.81 leaves the colour model open; component names R, G, B mean just that.
	b := slices.Clone(sample(t, "chroma444.jpg"))
	frame, scan := find(t, b, 0xc0), find(t, b, 0xda)
	for i, name := range []byte("RGB") {
		b[frame+10+3*i], b[scan+5+2*i] = name, name
	}
	copy(b[2+4:], "XXXX") // no JFIF header, which would mean YCbCr
	p, err := photo.Intake(b)
	require.NoError(t, err)
	was := decode(t, sample(t, "chroma444.jpg")).(*image.YCbCr).YCbCrAt(48, 36)
	want := color.RGBA{was.Y, was.Cb, was.Cr, 255}
	require.LessOrEqual(t, distance(want, decode(t, p.JPEG).At(48, 36)), 4)
}

// find gives the place of the first marker segment of its kind.
func find(t testing.TB, jpeg []byte, marker byte) int {
	t.Helper()
	for i := 2; i+4 <= len(jpeg); i += 2 + int(binary.BigEndian.Uint16(jpeg[i+2:])) {
		if jpeg[i+1] == marker {
			return i
		}
	}
	require.Failf(t, "no such segment", "%x", marker)
	return 0
}

// claiming gives a JPEG whose frame claims another size.
func claiming(t testing.TB, jpeg []byte, frame byte, w, h uint16) []byte {
	b := slices.Clone(jpeg)
	at := find(t, b, frame)
	binary.BigEndian.PutUint16(b[at+5:], h)
	binary.BigEndian.PutUint16(b[at+7:], w)
	return b
}

// repeating gives a JPEG with its first scan n times more.
func repeating(t testing.TB, jpeg []byte, n int) []byte {
	scan := find(t, jpeg, 0xda)
	end := scan + 2
	for ; jpeg[end] != 0xff || jpeg[end+1] == 0; end++ {
	}
	return slices.Concat(jpeg[:end], bytes.Repeat(jpeg[scan:end], n), jpeg[end:])
}

// patched gives a JPEG with one byte of its frame changed.
func patched(t testing.TB, jpeg []byte, offset int, value byte) []byte {
	b := slices.Clone(jpeg)
	b[find(t, b, 0xc0)+offset] = value
	return b
}

func TestFilesThatAreNotTaken(t *testing.T) {
	good, layered := sample(t, "chroma420.jpg"), sample(t, "progressive.jpg")
	const frame = 0xc0
	for name, c := range map[string]struct {
		file []byte
		code fault.Code
		say  string
	}{
		"nothing":               {nil, fault.Unsupported, "not a photograph"},
		"a text file":           {[]byte("seal.jpg, honestly\n"), fault.Unsupported, "not a photograph"},
		"an archive":            {[]byte("PK\x03\x04"), fault.Unsupported, "save JPEG"},
		"more than 10 MB":       {make([]byte, 10<<20+1), fault.TooLarge, "10.0 MB"},
		"over 24 megapixels":    {claiming(t, good, frame, 6000, 4001), fault.TooLarge, "6000 x 4001"},
		"progressive over 12":   {claiming(t, layered, 0xc2, 4000, 3001), fault.TooLarge, "12 million"},
		"largest claim of all":  {claiming(t, good, frame, 65535, 65535), fault.TooLarge, "pixels"},
		"no height":             {claiming(t, good, frame, 96, 0), fault.Invalid, "no size"},
		"cut in the data":       {good[:len(good)*2/3], fault.Invalid, "cut short"},
		"cut in the header":     {good[:30], fault.Invalid, "cut short"},
		"the first bytes alone": {good[:2], fault.Invalid, "cut short"},
		"layered and cut":       {layered[:len(layered)/2], fault.Invalid, "cut short"},
		"12 bits a sample":      {patched(t, good, 4, 12), fault.Unsupported, "rare way"},
		"odd chroma sampling":   {patched(t, good, 14, 0x31), fault.Unsupported, "rare way"},
		"print colours":         {sample(t, "cmyk.jpg"), fault.Unsupported, "CMYK"},
		"arithmetic coding":     {sample(t, "arithmetic.jpg"), fault.Unsupported, "rare way"},
		"endless layers":        {repeating(t, layered, 40), fault.Unsupported, "50 layers"},
		"repeated scans":        {repeating(t, good, 4), fault.Unsupported, "5 layers"},
	} {
		requireRefused(t, name, c.file, c.code, c.say)
	}
}

func requireRefused(t *testing.T, name string, file []byte, code fault.Code, say string) {
	t.Helper()
	p, err := photo.Intake(file)
	require.Equal(t, code, fault.CodeOf(err), "%s: %v", name, err)
	require.Zero(t, p, name)
	require.Contains(t, err.Error(), say, name)
	require.Contains(t, err.Error(), "The report is kept without it.", name)
}

func TestLimitsThemselvesAreTaken(t *testing.T) {
	good, layered := sample(t, "chroma420.jpg"), sample(t, "progressive.jpg")
	for name, b := range map[string][]byte{
		"24 megapixels":             claiming(t, good, 0xc0, 6000, 4000),
		"12 megapixels progressive": claiming(t, layered, 0xc2, 4000, 3000),
	} {
		_, err := photo.Intake(b)
		require.Equal(t, fault.Invalid, fault.CodeOf(err), "%s: read on, to the missing data", name)
	}
	_, err := photo.Intake(append(slices.Clone(good), make([]byte, 10<<20-len(good))...))
	require.NoError(t, err, "10 MB")
	_, err = photo.Intake(repeating(t, layered, 22))
	require.NoError(t, err, "32 layers")
}

func TestMarkersInsideOtherPartsDoNotCount(t *testing.T) {
	good := sample(t, "chroma420.jpg")
	want, err := photo.Intake(good)
	require.NoError(t, err)
	layers := strings.Repeat("\xff\xda\x00\x02\xff\xc2\x00\x02", 50)
	for name, b := range map[string][]byte{
		"in a comment":      withSegments(good, segment(0xfe, []byte(layers))),
		"in a thumbnail":    withSegments(good, segment(0xe1, []byte("Exif\x00\x00MM\x00\x2a"+layers))),
		"after the end":     append(slices.Clone(good), layers...),
		"fill bytes before": withSegments(good, []byte("\xff\xff\xff\xfe\x00\x02")),
		"a second Exif block": withSegments(good,
			exifSegment(exif{orientation: 1}), exifSegment(exif{orientation: 6})),
	} {
		got, err := photo.Intake(b)
		require.NoError(t, err, name)
		require.Equal(t, want, got, name)
	}
}
