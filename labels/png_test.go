package labels

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPNGReadsOnEveryPrinter(t *testing.T) {
	for _, s := range Sheets {
		for _, dpi := range []int{203, 300, 600} {
			for _, address := range []string{usualAddress, longAddress} {
				label := sealers(t, 1, address)[0]
				var b bytes.Buffer
				require.NoError(t, PNG(&b, s, label, dpi), "%s at %d", s.ID, dpi)
				img, err := png.Decode(&b)
				require.NoError(t, err)
				require.InDelta(t, s.Label.W*float64(dpi)/25.4, img.Bounds().Dx(), .5)
				requireReads(t, label.Payload, img, fmt.Sprintf("%s at %d dpi", s.ID, dpi))
			}
		}
	}
}

func TestPNGReadsWithZbar(t *testing.T) {
	for _, s := range Sheets {
		label := sealers(t, 1, usualAddress)[0]
		var b bytes.Buffer
		require.NoError(t, PNG(&b, s, label, 300))
		require.Equal(t, []string{label.Payload}, zbar(t, saved(t, "label.png", b.Bytes())), s.ID)
	}
}

// PNG specification, pHYs: dots per metre, big endian, and unit 1, the metre;
// 300 dots per inch are 11811.
func TestPNGCarriesItsResolution(t *testing.T) {
	s, _ := FindSheet("single-62x29")
	var b bytes.Buffer
	require.NoError(t, PNG(&b, s, sealers(t, 1, usualAddress)[0], 300))
	want := []byte("\x00\x00\x00\x09pHYs\x00\x00\x2e\x23\x00\x00\x2e\x23\x01")
	require.Equal(t, want, b.Bytes()[33:33+len(want)])
	require.InDelta(t, 11811, math.Round(300/.0254), 0)
}

func TestPNGRefusesAResolutionNobodyPrints(t *testing.T) {
	s, _ := FindSheet("single-62x29")
	for _, dpi := range []int{-1, 0, 72, 1201} {
		var b bytes.Buffer
		err := PNG(&b, s, sealers(t, 1, usualAddress)[0], dpi)
		require.ErrorIs(t, err, ErrOptions)
		require.Zero(t, b.Len())
	}
}

// The size a refusal names is right to a millimetre: it works, one less does
// not.
func TestRefusalSaysWhichLabelWouldDo(t *testing.T) {
	for _, dpi := range []int{203, 300, 600} {
		label := sealers(t, 1, longAddress)[0]
		var b bytes.Buffer
		err := PNG(&b, single("", Size{30, 15}), label, dpi)
		require.ErrorIs(t, err, ErrTooSmall)
		require.Zero(t, b.Len(), "nothing is written")

		_, advice, _ := strings.Cut(err.Error(), "at least ")
		var w, h float64
		_, scanErr := fmt.Sscanf(advice, "%f x %f mm", &w, &h)
		require.NoError(t, scanErr, err)
		require.NoError(t, PNG(&b, single("", Size{w, h}), label, dpi), "%g x %g", w, h)
		require.ErrorIs(t, PNG(&b, single("", Size{w, h - 1}), label, dpi), ErrTooSmall)
		require.ErrorIs(t, PNG(&b, single("", Size{w - 2, h}), label, dpi), ErrTooSmall)
	}
}
