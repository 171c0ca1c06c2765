package labels

import (
	"fmt"
	"io"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

// PDF writes labels on as many pages of sheet as they need. Nothing is written
// unless all of them can be printed; such an error wraps ErrTooSmall or
// ErrOptions.
func PDF(w io.Writer, sheet Sheet, labels []Label, o Options) error {
	if err := o.check(sheet); err != nil {
		return err
	}
	if len(labels) == 0 {
		return fmt.Errorf("%w: there are no labels to print", ErrOptions)
	}
	doc := newPDF(sheet.Page, "Labels, "+sheet.String(), o)
	skip := o.skip()
	for len(labels) > 0 {
		n := min(len(labels), sheet.PerPage()-skip)
		doc.f.AddPage()
		if err := sheet.page(doc, labels[:n], skip, o); err != nil {
			return err
		}
		labels, skip = labels[n:], 0
	}
	return doc.write(w)
}

// pdfCanvas draws on the current page of a PDF document.
type pdfCanvas struct {
	f    *fpdf.Fpdf
	page Size
}

const (
	family = "go"
	points = 72 / 25.4 // to a mm
)

func newPDF(page Size, title string, o Options) pdfCanvas {
	f := fpdf.NewCustom(&fpdf.InitType{
		UnitStr: "mm",
		Size:    fpdf.SizeType{Wd: page.W, Ht: page.H},
	})
	f.SetCatalogSort(true)
	f.SetCreationDate(o.Made.UTC())
	f.SetModificationDate(o.Made.UTC())
	f.SetTitle(title, true)
	f.SetCreator("tidemark", true)
	f.SetLang("en")
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes(family, "", regular.ttf())
	f.AddUTF8FontFromBytes(family, "B", bold.ttf())
	return pdfCanvas{f, page}
}

func (c pdfCanvas) write(w io.Writer) error {
	if err := c.f.Output(w); err != nil {
		return fmt.Errorf("write label sheet: %w", err)
	}
	return nil
}

func (c pdfCanvas) dot() float64 { return 0 }

func (c pdfCanvas) bar(x, y, w, h float64) { c.f.Rect(x, y, w, h, "F") }

func (c pdfCanvas) text(x, baseline, size float64, w weight, s string) {
	style := ""
	if w == bold {
		style = "B"
	}
	c.f.SetFont(family, style, size*points)
	c.f.Text(x, baseline, s)
}

// symbol draws all dark modules as ONE path in module units. With a rectangle
// for each, a renderer rounds each to its pixels alone, and half the symbols
// of a sheet do not read at 300 dpi.
func (c pdfCanvas) symbol(x, y, module float64, s symbol) {
	var b strings.Builder
	m := module * points
	fmt.Fprintf(&b, "q %.5f 0 0 %.5f %.4f %.4f cm\n", m, -m, x*points, (c.page.H-y)*points)
	for r := range s.runs() {
		fmt.Fprintf(&b, "%d %d %d 1 re\n", r.x, r.y, r.w)
	}
	b.WriteString("f Q")
	c.f.RawWriteStr(b.String())
}
