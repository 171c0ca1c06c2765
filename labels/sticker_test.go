package labels

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestStickersFillAPageForEachNumber(t *testing.T) {
	for _, s := range StickerSheets {
		var b bytes.Buffer
		require.NoError(t, Stickers(&b, s, []string{"2", "A"}, Options{Start: 4, Made: made}))
		file := saved(t, "stickers.pdf", b.Bytes())
		for page, want := range map[string]struct {
			number string
			count  int
		}{
			"1": {"2", s.PerPage() - 3},
			"2": {"A", s.PerPage()},
		} {
			text := runTool(t, "pdftotext", "-layout", "-f", page, "-l", page, file, "-")
			require.Len(t, regexp.MustCompile(`Sealer +`+want.number+`( |\n)`).
				FindAllString(text, -1), want.count, "%s page %s", s.ID, page)
			require.Equal(t, 1, strings.Count(text, "on the film side, outside the seal"), s.ID)
		}
	}
}

func TestStickerTextStaysOnThePage(t *testing.T) {
	for _, s := range StickerSheets {
		var b bytes.Buffer
		require.NoError(t, Stickers(&b, s, []string{"69"}, Options{Made: made}))
		for _, w := range words(t, saved(t, "stickers.pdf", b.Bytes())) {
			require.GreaterOrEqual(t, min(w.x, w.y), 4.2, s.ID)
			require.LessOrEqual(t, w.x+w.w, s.Page.W-4.2, s.ID)
			require.LessOrEqual(t, w.y+w.h, s.Page.H-4.2, s.ID)
		}
	}
}

func TestStickerNumberIsLargeOrRefused(t *testing.T) {
	s, _ := FindSheet("a4-9x27")
	for _, number := range []string{"2", "A", "12", "69", "B12"} {
		c := &recorder{}
		require.NoError(t, sticker(c, s.cell(0).inset(s.Pad), number))
		require.GreaterOrEqual(t, c.size(number), 3.8, "%s: 11 pt at least", number)
		require.LessOrEqual(t, c.right(), s.Label.W-s.Pad+s.Left+1e-9, number)
	}
	for name, numbers := range map[string][]string{
		"a number that would have to be cut": {"2", "STERILE-12"},
	} {
		var b bytes.Buffer
		require.ErrorIs(t, Stickers(&b, s, numbers, Options{Made: made}), ErrTooSmall, name)
		require.Zero(t, b.Len())
	}
	require.ErrorIs(t, Stickers(&bytes.Buffer{}, s, nil, Options{Made: made}), ErrOptions)
	require.ErrorIs(t, Stickers(&bytes.Buffer{}, s, []string{"2"},
		Options{Start: 244, Made: made}), ErrOptions)
}
