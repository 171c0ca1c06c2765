package photo_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/photo"
)

// FuzzIntake holds the promises of the package for any bytes.
func FuzzIntake(f *testing.F) {
	for _, name := range []string{"chroma420", "chroma411", "progressive", "cmyk", "arithmetic"} {
		f.Add(sample(f, name+".jpg"))
	}
	for _, b := range smallFiles(f) {
		f.Add(b)
	}
	f.Fuzz(requirePromises)
}

func TestNoChangedByteBreaksAPromise(t *testing.T) {
	for _, file := range smallFiles(t) {
		for i := range file {
			for _, change := range []byte{0x01, 0x80, 0xff} {
				b := slices.Clone(file)
				b[i] ^= change
				requirePromises(t, b)
			}
			requirePromises(t, file[:i])
		}
	}
}

func smallFiles(t testing.TB) map[string][]byte {
	m := drawTints(9, 7)
	return map[string][]byte{
		"png":        encodePNG(t, m),
		"interlaced": pngFile(3, 2, 8, grey, adam7, []byte{0, 1, 0, 2, 0, 3, 0, 4, 5, 6}),
		"jpeg": withSegments(encode(t, m, 60),
			exifSegment(exif{orientation: 7, place: true})),
	}
}

// requirePromises asks for a photograph of at most 1600 pixels that decodes and
// has no metadata, or for one of three faults.
func requirePromises(t *testing.T, b []byte) {
	p, err := photo.Intake(b)
	if err != nil {
		refusals := []fault.Code{fault.TooLarge, fault.Unsupported, fault.Invalid}
		require.Contains(t, refusals, fault.CodeOf(err))
		return
	}
	size := decode(t, p.JPEG).Bounds().Size()
	require.Equal(t, fmt.Sprint(size.X, size.Y), fmt.Sprint(p.Width, p.Height))
	require.LessOrEqual(t, max(p.Width, p.Height), 1600)
	require.GreaterOrEqual(t, p.Sharpness, 0.)
	require.Empty(t, metadata(p.JPEG))
}
