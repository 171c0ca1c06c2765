package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// recorder is a canvas that remembers the boxes of what was drawn on it.
type recorder struct {
	texts []textBox
	bars  []box
	code  box
}

type textBox struct {
	box
	size float64
	s    string
}

func (r *recorder) dot() float64 { return 0 }

func (r *recorder) bar(x, y, w, h float64) { r.bars = append(r.bars, box{x, y, w, h}) }

func (r *recorder) text(x, baseline, size float64, w weight, s string) {
	high := w.capHeight() * size
	r.texts = append(r.texts, textBox{box{x, baseline - high, w.width(s) * size, high}, size, s})
}

func (r *recorder) symbol(x, y, module float64, s symbol) {
	side := module * float64(len(s.dark))
	r.code = box{x - quiet*module, y - quiet*module, side + 2*quiet*module, side + 2*quiet*module}
}

func (r *recorder) size(s string) float64 {
	for _, t := range r.texts {
		if t.s == s {
			return t.size
		}
	}
	return 0
}

func (r *recorder) right() float64 {
	right := 0.0
	for _, t := range r.texts {
		right = max(right, t.x+t.w)
	}
	return right
}

func (b box) inside(of box) bool {
	const slack = 1e-6
	return b.x >= of.x-slack && b.y >= of.y-slack &&
		b.x+b.w <= of.x+of.w+slack && b.y+b.h <= of.y+of.h+slack
}

func (b box) overlaps(c box) bool {
	const slack = 1e-6
	return b.x < c.x+c.w-slack && c.x < b.x+b.w-slack &&
		b.y < c.y+c.h-slack && c.y < b.y+b.h-slack
}

// Whatever is typed, on whatever label: it is refused, or nothing runs off the
// label, into the symbol's quiet zone or into other text, and none is too
// small to read.
func TestNothingOverflowsOrOverlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[A-Za-zÀ-ž0-9 .,-]{0,40}`)
		sheet := rapid.SampledFrom(Sheets).Draw(t, "sheet")
		label := Label{
			Title:   "Sealer " + word.Draw(t, "number"),
			Lines:   rapid.SliceOfN(word, 0, 3).Draw(t, "lines"),
			Clear:   rapid.SampledFrom([]string{"", "K7QM-3XK"}).Draw(t, "clear"),
			Note:    word.Draw(t, "note"),
			Payload: "HTTPS://TIDEMARK.STBRIGID.EXAMPLE/S/K7QM3XK",
		}
		r := &recorder{}
		cell := sheet.cell(0)
		if err := label.draw(r, cell, sheet.Pad); err != nil {
			require.ErrorIs(t, err, ErrTooSmall)
			t.Skip("refused")
		}
		in := cell.inset(sheet.Pad)
		require.True(t, r.code.inside(in), "symbol and quiet zone")
		for i, text := range r.texts {
			require.True(t, text.inside(in), "%q leaves the label", text.s)
			require.False(t, text.overlaps(r.code), "%q in the quiet zone", text.s)
			require.False(t, text.overlaps(r.bars[0]), "%q on the band", text.s)
			require.GreaterOrEqual(t, text.size, smallest)
			for _, other := range r.texts[:i] {
				require.False(t, text.overlaps(other.box), "%q on %q", text.s, other.s)
			}
		}
	})
}

func TestTitleIsNeverShortened(t *testing.T) {
	sheet, _ := FindSheet("single-50x30")
	for number, fits := range map[string]bool{
		"2": true, "A": true, "12": true, "North 12": true,
		"of the third room behind the packing room in the basement": false,
	} {
		l := sealers(t, 1, usualAddress)[0]
		l.Title = "Sealer " + number
		r := &recorder{}
		err := l.draw(r, sheet.cell(0), sheet.Pad)
		if !fits {
			require.ErrorIs(t, err, ErrTooSmall)
			require.ErrorContains(t, err, number, "the refusal names it")
			continue
		}
		require.NoError(t, err, number)
		drawn := ""
		for _, text := range r.texts {
			drawn += text.s + " "
		}
		require.Contains(t, drawn, "Sealer "+number)
	}
}

func TestLongPlaceIsShortenedAndShowsIt(t *testing.T) {
	sheet, _ := FindSheet("single-50x30")
	l := sealers(t, 1, usualAddress)[0]
	l.Lines = []string{strings.Repeat("W", 60), "Asset 20417"}
	r := &recorder{}
	require.NoError(t, l.draw(r, sheet.cell(0), sheet.Pad))
	require.True(t, strings.HasSuffix(r.texts[len(r.texts)-2].s, "…"), r.texts)
	require.Equal(t, "Asset 20417", r.texts[len(r.texts)-1].s, "the rest stays whole")
}

func TestLinesShareARowWhereThereIsNoRoomForEach(t *testing.T) {
	sheet, _ := FindSheet("single-50x30")
	l := sealers(t, 1, usualAddress)[0]
	l.Lines = []string{"one", "two", "three", "four", "five"}
	r := &recorder{}
	require.NoError(t, l.draw(r, sheet.cell(0), sheet.Pad))
	last := len(r.texts) - 1
	require.Equal(t, "one · two · three · four", r.texts[last-1].s)
	require.Equal(t, "· five", r.texts[last].s)
}

func TestItemLabelLeavesOutWhatIsNotKnown(t *testing.T) {
	require.Equal(t, Label{
		Title:   "Sealer 2",
		Lines:   []string{"Packing room", "Asset 20417"},
		Clear:   "K7QM-3XK",
		Note:    "Scan for the setting",
		Payload: "HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK",
	}, Item{"2", "Packing room", "20417", "K7QM3XK", "HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK"}.Label())
	require.NotContains(t, Item{Number: "2", Place: "Packing room"}.Label().Lines, "Asset ")
}

// Widths as fpdf reads them from the same font file, rounded there to 1/1000.
func TestBothOutputsMeasureTextAlike(t *testing.T) {
	doc := newPDF(a4, "", Options{Made: made})
	doc.f.AddPage()
	for _, s := range []string{"Sealer 2", "Packing room, bench 1", "Größe Łódź…", "K7QM-3XK"} {
		for w, style := range map[weight]string{regular: "", bold: "B"} {
			doc.f.SetFont(family, style, 10*points)
			require.InDelta(t, doc.f.GetStringWidth(s), 10*w.width(s), .1, s)
		}
	}
}
