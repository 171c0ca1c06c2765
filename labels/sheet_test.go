package labels

import (
	"fmt"
	"image"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var made = time.Date(2026, 1, 13, 6, 12, 0, 0, time.UTC)

const (
	usualAddress = "https://tidemark.stbrigid.example"
	longAddress  = "https://tidemark.sterile-processing.stbrigid.example:8443"
)

// sealers returns n labels as a hospital would have them, long names included.
func sealers(t testing.TB, n int, publicURL string) []Label {
	places := []string{"Packing room, bench 1", "Sterilgutaufbereitung, Größe é",
		"Packing room, bench 2 beside the steam sterilizers, left", ""}
	assets := []string{"20417", "", "SPD-000-1234-5678-ABCDEFGH"}
	var all []Label
	for i := range n {
		code := newCode(t)
		u, err := URL(publicURL, code)
		require.NoError(t, err)
		item := Item{fmt.Sprint(i + 1), places[i%len(places)], assets[i%len(assets)], code, u}
		all = append(all, item.Label())
	}
	return all
}

func TestSheetsAreWhatTheirNamesSay(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range append(Sheets[:len(Sheets):len(Sheets)], StickerSheets...) {
		require.False(t, seen[s.ID], s.ID)
		seen[s.ID] = true
		found, ok := FindSheet(s.ID)
		require.True(t, ok)
		require.Equal(t, s, found)

		if s.PerPage() == 1 {
			require.Equal(t, fmt.Sprintf("single-%gx%g", s.Page.W, s.Page.H), s.ID)
			continue
		}
		paper := map[Size]string{{210, 297}: "a4", {215.9, 279.4}: "letter"}[s.Page]
		require.Contains(t, s.ID+"-", fmt.Sprintf("%s-%dx%d-", paper, s.Cols, s.Rows))
	}
	_, ok := FindSheet("a4-9x9")
	require.False(t, ok)
}

func TestLabelsOfASheetStayOnThePageAndApart(t *testing.T) {
	for _, s := range append(Sheets[:len(Sheets):len(Sheets)], StickerSheets...) {
		first, last := s.cell(0), s.cell(s.PerPage()-1)
		require.GreaterOrEqual(t, s.Pitch.W, s.Label.W, s.ID)
		require.GreaterOrEqual(t, s.Pitch.H, s.Label.H, s.ID)
		require.InDelta(t, first.x, s.Page.W-last.x-last.w, .5, "%s: margins left and right", s.ID)
		require.InDelta(t, first.y, s.Page.H-last.y-last.h, .5, "%s: margins top and bottom", s.ID)

		// Common practice, no source: an office printer leaves 4.2 mm blank.
		if s.PerPage() > 1 {
			require.GreaterOrEqual(t, min(first.x, first.y)+s.Pad, 4.2, s.ID)
		}
	}
}

func TestSheetDescribesItself(t *testing.T) {
	s, _ := FindSheet("letter-3x10")
	require.Equal(t, "Letter, 30 labels (3 x 10) of 66.7 x 25.4 mm", s.String())
	s, _ = FindSheet("single-62x29")
	require.Equal(t, "Single label, 62 x 29 mm", s.String())
}

// Drawn as an image by the same layout as the PDF, read with gozxing: every
// label of every sheet, with a usual and a long public address.
func TestEveryLabelOfEverySheetReads(t *testing.T) {
	const dpi = 200
	for _, s := range Sheets {
		for _, address := range []string{usualAddress, longAddress} {
			labels := sealers(t, s.PerPage(), address)
			c := newPNG(s.Page, dpi)
			require.NoError(t, s.page(c, labels, 0, Options{CutMarks: true}), s.ID)
			for i, l := range labels {
				cell := crop(c.img, s.cell(i), dpi)
				requireReads(t, l.Payload, cell, fmt.Sprintf("%s label %d", s.ID, i+1))
			}
		}
	}
}

// crop cuts a box out of a page.
func crop(page *image.Gray, b box, dpi int) *image.Gray {
	at := func(mm float64) int { return int(math.Round(mm * float64(dpi) / 25.4)) }
	part := image.Rect(at(b.x), at(b.y), at(b.x+b.w), at(b.y+b.h))
	return page.SubImage(part).(*image.Gray)
}

func TestOptionsThatCannotBePrintedAreRefused(t *testing.T) {
	s, _ := FindSheet("a4-3x8")
	for name, o := range map[string]Options{
		"start after the last label": {Start: 25, Made: made},
		"start before the first":     {Start: -1, Made: made},
		"offset of another paper":    {OffsetX: 10.1, Made: made},
		"offset that is no number":   {OffsetY: math.NaN(), Made: made},
	} {
		require.ErrorIs(t, o.check(s), ErrOptions, name)
	}
	require.ErrorContains(t, Options{}.check(s), "no time given")
	require.NoError(t, Options{Start: 24, OffsetX: -10, Made: made}.check(s))
}
