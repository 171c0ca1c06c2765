package labels

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var every = flag.Bool("every", false, "read every sheet at 600 dpi too: a minute more")

// Every label of every sheet, through the PDF, drawn by poppler and read by
// gozxing and by zbar.
func TestEveryLabelReadsFromThePDF(t *testing.T) {
	for _, dpi := range []int{150, 300, 600} {
		for _, s := range Sheets {
			if dpi == 600 && s.PerPage() > 1 && !*every {
				continue
			}
			labels := sealers(t, s.PerPage(), usualAddress)
			page := openPGM(t, raster(t, savedPDF(t, s, labels, Options{Made: made}), 1, dpi))
			var payloads, files []string
			for i, l := range labels {
				label := crop(page, s.cell(i), dpi)
				requireReads(t, l.Payload, label, fmt.Sprintf("%s label %d at %d dpi", s.ID, i+1, dpi))
				payloads, files = append(payloads, l.Payload), append(files, savePGM(t, label))
			}
			require.Equal(t, payloads, zbar(t, files...), "%s at %d dpi", s.ID, dpi)
		}
	}
}

func TestPDFIsTheSameEachTime(t *testing.T) {
	s, _ := FindSheet("a4-3x8")
	labels := sealers(t, 30, usualAddress)
	var first bytes.Buffer
	require.NoError(t, PDF(&first, s, labels, Options{Made: made}))
	for range 5 {
		var again bytes.Buffer
		require.NoError(t, PDF(&again, s, labels, Options{Made: made}))
		require.True(t, bytes.Equal(first.Bytes(), again.Bytes()))
	}
	var later bytes.Buffer
	require.NoError(t, PDF(&later, s, labels, Options{Made: made.AddDate(0, 0, 1)}))
	require.False(t, bytes.Equal(first.Bytes(), later.Bytes()), "the time is in it")
}

func TestPDFStartsOnAPartlyUsedSheet(t *testing.T) {
	s, _ := FindSheet("a4-3x8")
	labels := sealers(t, 24, usualAddress)
	file := savedPDF(t, s, labels, Options{Start: 6, Made: made})
	first := openPGM(t, raster(t, file, 1, 150))
	for i := range s.PerPage() {
		cell := crop(first, s.cell(i), 150)
		if i < 5 {
			require.True(t, blank(cell), "label %d was used up", i+1)
			continue
		}
		requireReads(t, labels[i-5].Payload, cell, fmt.Sprintf("label %d", i+1))
	}
	second := openPGM(t, raster(t, file, 2, 150))
	requireReads(t, labels[19].Payload, crop(second, s.cell(0), 150), "first of page 2")
	require.True(t, blank(crop(second, s.cell(5), 150)), "24 labels and no more")
}

func TestPDFMovesByTheAlignmentOffset(t *testing.T) {
	s, _ := FindSheet("letter-2x5")
	labels := sealers(t, 1, usualAddress)
	at := words(t, savedPDF(t, s, labels, Options{Made: made}))[0]
	moved := words(t, savedPDF(t, s, labels, Options{OffsetX: 1.5, OffsetY: -2, Made: made}))[0]
	require.InDelta(t, at.x+1.5, moved.x, .01)
	require.InDelta(t, at.y-2, moved.y, .01)
}

// Text as poppler measures it, not as this package does.
func TestPDFTextStaysInsideItsLabel(t *testing.T) {
	for _, s := range Sheets {
		labels := sealers(t, s.PerPage(), usualAddress)
		all, inside := words(t, savedPDF(t, s, labels, Options{Made: made})), 0
		for _, w := range all {
			for i := range s.PerPage() {
				b := s.cell(i).inset(s.Pad)
				if w.x >= b.x && w.x+w.w <= b.x+b.w+.05 && w.y >= b.y-1 && w.y+w.h <= b.y+b.h+1 {
					inside++
				}
			}
		}
		require.Len(t, all, inside, s.ID)
	}
}

func TestPDFPrintsNamesOfManyTongues(t *testing.T) {
	s, _ := FindSheet("a4-2x7")
	label := sealers(t, 1, usualAddress)[0]
	label.Lines = []string{"Größe Łódź Ærø Çeşme, Αθήνα, Київ", "cafe\u0301 \t日"}
	text := runTool(t, "pdftotext", savedPDF(t, s, []Label{label}, Options{Made: made}), "-")
	text = strings.Join(strings.Fields(text), " ")
	require.Contains(t, text, "Größe Łódź Ærø Çeşme, Αθήνα, Київ")
	require.Contains(t, text, "café", "composed")
	require.Contains(t, text, "?", "for what the fonts do not have")
}

func TestPDFCarriesItsFonts(t *testing.T) {
	s, _ := FindSheet("a4-3x8")
	table := runTool(t, "pdffonts", savedPDF(t, s, sealers(t, 24, usualAddress), Options{Made: made}))
	rows := strings.Split(strings.TrimSpace(table), "\n")[2:]
	require.Len(t, rows, 2, "regular and bold")
	for _, row := range rows {
		require.Regexp(t, `yes no  yes`, row, "embedded, with a way back to Unicode")
	}
}

func TestPDFWritesNothingWhenALabelCannotBePrinted(t *testing.T) {
	s, _ := FindSheet("single-50x30")
	wide := sealers(t, 2, usualAddress)
	wide[1].Title = "Sealer in the room behind the second sterilizer on the left"
	code := sealers(t, 1, usualAddress)
	code[0].Clear = strings.Repeat("K7QM-", 9)
	fine := sealers(t, 1, "https://"+strings.Repeat("host.", 30)+"example")
	for name, c := range map[string]struct {
		labels []Label
		o      Options
		want   error
	}{
		"number too long":     {wide, Options{Made: made}, ErrTooSmall},
		"clear text too long": {code, Options{Made: made}, ErrTooSmall},
		"modules too fine":    {fine, Options{Made: made}, ErrTooSmall},
		"no labels":           {nil, Options{Made: made}, ErrOptions},
		"no such place":       {wide[:1], Options{Start: 2, Made: made}, ErrOptions},
	} {
		var b bytes.Buffer
		require.ErrorIs(t, PDF(&b, s, c.labels, c.o), c.want, name)
		require.Zero(t, b.Len(), name)
	}
}

func TestPDFReportsAWriterThatFails(t *testing.T) {
	s, _ := FindSheet("single-50x30")
	broken := errors.New("disk full")
	pipe, w := io.Pipe()
	require.NoError(t, pipe.CloseWithError(broken))
	err := PDF(w, s, sealers(t, 1, usualAddress), Options{Made: made})
	require.ErrorIs(t, err, broken)
}

// Cards for a bad pack found elsewhere, with an upper-case token.
func TestFoundCardReads(t *testing.T) {
	url, err := PathURL(usualAddress, "/F/"+string(newCode(t)))
	require.NoError(t, err)
	for _, id := range []string{"a4-2x4", "letter-2x4", "single-50x30"} {
		s, _ := FindSheet(id)
		file := savedPDF(t, s, []Label{FoundCard(url)}, Options{CutMarks: true, Made: made})
		require.Equal(t, []string{url}, zbar(t, raster(t, file, 1, 150)), id)
		require.Contains(t, runTool(t, "pdftotext", file, "-"), "No account needed")
	}
}

func savedPDF(t testing.TB, s Sheet, labels []Label, o Options) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, PDF(&b, s, labels, o), s.ID)
	return saved(t, s.ID+".pdf", b.Bytes())
}

func blank(img image.Image) bool {
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
		for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
			if r, _, _, _ := img.At(x, y).RGBA(); r < 0xf000 {
				return false
			}
		}
	}
	return true
}

var wordBox = regexp.MustCompile(
	`<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">`)

// words returns the boxes, in mm, of the words that pdftotext finds on page 1.
func words(t testing.TB, pdf string) []box {
	t.Helper()
	var boxes []box
	for _, m := range wordBox.FindAllStringSubmatch(
		runTool(t, "pdftotext", "-l", "1", "-bbox", pdf, "-"), -1) {
		var v [4]float64
		for i := range v {
			f, err := strconv.ParseFloat(m[i+1], 64)
			require.NoError(t, err)
			v[i] = f / points
		}
		boxes = append(boxes, box{v[0], v[1], v[2] - v[0], v[3] - v[1]})
	}
	require.NotEmpty(t, boxes)
	return boxes
}
