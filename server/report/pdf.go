package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/text/unicode/norm"
)

// VolumePages is the most pages of one volume.
const VolumePages = 250

// Look is what stands on every page of a PDF, and how large the pages are.
type Look struct {
	Title  string // "Records of heat sealers"
	Place  string // the department and the period
	Mark   string
	Demo   bool
	Letter bool      // US Letter instead of A4
	Dated  time.Time // the date in the files: that of the last record
}

// PDF draws sections into volumes of at most VolumePages pages.
type PDF struct {
	look   Look
	open   func(volume int) (io.WriteCloser, error)
	f      *fpdf.Fpdf
	volume int
	y      float64 // where the next line begins
	size   struct{ w, h float64 }
	table  []placed
	widths map[wordAt]float64
	err    error
}

// placed is a column and where it stands.
type placed struct {
	Column
	x, w float64
}

// style is that of a cell in a row of a style.
func (c placed) style(row string) string {
	if c.Mono && row == "" {
		return mono
	}
	return row
}

// Millimetres and points of the page.
const (
	margin   = 15.0
	headroom = 24.0 // first line below it
	footroom = 20.0
	lead     = 4.4 // from line to line
	gap      = 2.0 // between columns
	textSize = 9.0
)

// NewPDF begins with the first volume; open is asked for a file for each.
func NewPDF(look Look, open func(volume int) (io.WriteCloser, error)) *PDF {
	p := &PDF{look: look, open: open, widths: map[wordAt]float64{}}
	p.size.w, p.size.h = 210, 297
	if look.Letter {
		p.size.w, p.size.h = 215.9, 279.4
	}
	p.begin()
	return p
}

func (p *PDF) begin() {
	p.volume++
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: p.size.w, Ht: p.size.h}})
	f.SetCatalogSort(true)
	f.SetCreationDate(p.look.Dated.UTC())
	f.SetModificationDate(p.look.Dated.UTC())
	f.SetTitle(fmt.Sprintf("%s, %s, volume %d", p.look.Title, p.look.Place, p.volume), true)
	f.SetCreator("tidemark", true)
	f.SetProducer("tidemark", true)
	f.SetLang("en")
	f.SetAutoPageBreak(false, 0)
	// The library writes into the bytes of a font while it takes from them.
	f.AddUTF8FontFromBytes(face, "", bytes.Clone(goregular.TTF))
	f.AddUTF8FontFromBytes(face, bold, bytes.Clone(gobold.TTF))
	f.AddUTF8FontFromBytes(face, mono, bytes.Clone(gomono.TTF))
	p.f = f
	p.page()
}

// The Go fonts are carried in the file: no printer puts another in their place.
// The library knows four styles of a face; the one with letters of one width goes
// by that of italics.
const (
	face = "go"
	bold = "B"
	mono = "I"
)

// page begins a page, and a volume if this one is full.
func (p *PDF) page() {
	if p.f.PageNo() == VolumePages {
		p.end()
		p.begin()
		return
	}
	p.f.AddPage()
	p.f.SetTextColor(28, 36, 48)
	p.f.SetDrawColor(190, 184, 172)
	p.f.SetLineWidth(.2)
	p.write(margin, 12, bold, textSize, p.look.Title)
	p.right(12, p.look.Place)
	p.f.Line(margin, 15, p.size.w-margin, 15)
	foot := p.size.h - 10
	p.f.Line(margin, foot-5, p.size.w-margin, foot-5)
	p.write(margin, foot, "", 8, Caution)
	p.write(margin, foot+4, "", 8, p.look.Mark)
	page := fmt.Sprintf("volume %d, page %d", p.volume, p.f.PageNo())
	if p.look.Demo {
		page = "DEMO, invented · " + page
	}
	p.right(foot, page)
	p.y = headroom
}

// end writes the volume.
func (p *PDF) end() {
	w, err := p.open(p.volume)
	if err == nil {
		err = p.f.Output(w)
		if e := w.Close(); err == nil {
			err = e
		}
	}
	if err != nil && p.err == nil {
		p.err = fmt.Errorf("write volume %d: %w", p.volume, err)
	}
}

// Close writes the last volume and tells how many there are.
func (p *PDF) Close() (volumes int, err error) {
	p.end()
	return p.volume, p.err
}

// Section begins a section, on a page of its own.
func (p *PDF) Section(title string) {
	if p.y > headroom {
		p.page()
	}
	p.f.Bookmark(title, 0, -1)
	p.y += 3
	p.write(margin, p.y, bold, 15, title)
	p.y += 9
}

// Heading makes a PDF a Pen.
func (p *PDF) Heading(text string) {
	p.space(5 * lead)
	p.y += 3
	p.f.Bookmark(text, 1, -1)
	p.paragraph(bold, 11, text)
}

// Text draws a paragraph.
func (p *PDF) Text(text string) {
	p.paragraph("", textSize, text)
	p.y += 1.5
}

func (p *PDF) paragraph(style string, size float64, text string) {
	for _, line := range p.wrap(style, size, text, p.size.w-2*margin) {
		p.space(lead)
		p.write(margin, p.y, style, size, line)
		p.y += lead * size / textSize
	}
}

// Table begins a table; a little of it stands below its head.
func (p *PDF) Table(caption string, columns ...Column) {
	p.y += 2
	p.space(5 * lead)
	p.paragraph(bold, 10, caption)
	total := 0
	for _, c := range columns {
		total += c.Width
	}
	wide := p.size.w - 2*margin - gap*float64(len(columns)-1)
	x := margin
	p.table = p.table[:0]
	for _, c := range columns {
		w := wide * float64(c.Width) / float64(total)
		p.table = append(p.table, placed{c, x, w})
		x += w + gap
	}
	p.head()
}

// head draws the names of the columns, again on each page.
func (p *PDF) head() {
	names := make([]string, len(p.table))
	for i, c := range p.table {
		names[i] = c.Text
	}
	p.cells(bold, names)
}

// Row draws a row; one that does not fit goes to the next page.
func (p *PDF) Row(cells ...string) { p.cells("", cells) }

func (p *PDF) cells(style string, cells []string) {
	lines := make([][]string, len(cells))
	most := 1
	for i, text := range cells {
		lines[i] = p.wrap(p.table[i].style(style), textSize, text, p.table[i].w)
		most = max(most, len(lines[i]))
	}
	for from := 0; from < most; {
		if p.y+lead > p.bottom() || from == 0 && p.y+float64(min(most, 8))*lead > p.bottom() {
			p.page()
			if style == "" {
				p.head()
			}
		}
		n := min(most-from, max(1, int((p.bottom()-p.y)/lead)))
		p.slice(style, lines, from, from+n)
		from += n
	}
	p.f.Line(margin, p.y-lead+1.2, p.size.w-margin, p.y-lead+1.2)
	p.y += .6
}

// slice draws some lines of each cell of a row.
func (p *PDF) slice(style string, lines [][]string, from, to int) {
	for i, c := range p.table {
		for n := from; n < min(to, len(lines[i])); n++ {
			x, style := c.x, c.style(style)
			if c.Num {
				x += c.w - p.width(style, textSize, lines[i][n])
			}
			p.write(x, p.y+float64(n-from)*lead, style, textSize, lines[i][n])
		}
	}
	p.y += float64(to-from) * lead
}

func (p *PDF) bottom() float64 { return p.size.h - footroom }

// space begins a new page unless there is so much left of this one.
func (p *PDF) space(h float64) {
	if p.y+h > p.bottom() {
		p.page()
	}
}

func (p *PDF) write(x, y float64, style string, size float64, text string) {
	p.f.SetFont(face, style, size)
	p.f.Text(x, y, text)
}

func (p *PDF) right(y float64, text string) {
	p.write(p.size.w-margin-p.width("", 8, text), y, "", 8, text)
}

// wordAt is a word in one of the fonts that a page uses.
type wordAt struct {
	style string
	size  float64
	word  string
}

// width is how wide a text is drawn. Words come again and again: their widths
// are kept, as many as it takes to be quick.
func (p *PDF) width(style string, size float64, text string) float64 {
	key := wordAt{style, size, text}
	if w, ok := p.widths[key]; ok {
		return w
	}
	if len(p.widths) > 4096 {
		clear(p.widths)
	}
	p.f.SetFont(face, style, size)
	w := p.f.GetStringWidth(text)
	p.widths[key] = w
	return w
}

// wrap breaks a text into lines of a width. A word that is wider is cut.
func (p *PDF) wrap(style string, size float64, text string, wide float64) (lines []string) {
	blank := p.width(style, size, " ")
	line, used := "", 0.0
	for _, word := range strings.Fields(clean(text)) {
		for p.width(style, size, word) > wide && len([]rune(word)) > 1 {
			if line != "" {
				lines, line, used = append(lines, line), "", 0
			}
			cut := p.fit(style, size, word, wide)
			lines, word = append(lines, word[:cut]), word[cut:]
		}
		w := p.width(style, size, word)
		switch {
		case line == "":
			line, used = word, w
		case used+blank+w > wide:
			lines, line, used = append(lines, line), word, w
		default:
			line, used = line+" "+word, used+blank+w
		}
	}
	return append(lines, line)
}

// fit is how many bytes of a word fit into a width, those of one letter at least.
func (p *PDF) fit(style string, size float64, word string, wide float64) int {
	p.f.SetFont(face, style, size)
	last := 0
	for i := range word {
		if i > 0 && p.f.GetStringWidth(word[:i]) > wide {
			break
		}
		last = i
	}
	if hyphen := strings.LastIndexAny(word[:last], "-/") + 1; hyphen > 0 {
		return hyphen
	}
	if last == 0 {
		_, last = utf8.DecodeRuneInString(word)
	}
	return last
}

// clean makes letters whole and leaves out what cannot be drawn.
func clean(text string) string {
	if plainText(text) {
		return text
	}
	return norm.NFC.String(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0xfeff || r > 0xffff {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, " ")))
}

func plainText(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return true
}

// DrawPDF draws all sections of a book.
func DrawPDF(b *Book, words Words, p *PDF) error {
	for _, s := range Sections {
		p.Section(s.Title)
		if err := s.write(b, words, p); err != nil {
			return err
		}
		if p.err != nil {
			return p.err
		}
	}
	return nil
}
