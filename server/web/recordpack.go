package web

import (
	"errors"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// packPage chooses what a record pack is made of.
type packPage struct {
	Page
	From, To string
	Sealers  []choice
	Sections []Action
	Error    string
	Key      string // that signs
}

func packIn(c echo.Context) (in desk.PackIn, err error) {
	if err := (&echo.DefaultBinder{}).BindQueryParams(c, &in); err != nil {
		return in, fault.Wrap(err, fault.Invalid, "Give the days as 2026-01-31.")
	}
	return in, nil
}

// packForm asks for sealers and a period, and leads to the sections.
func (h *house) packForm(c echo.Context) error {
	v, err := h.askRecords(c)
	if err != nil {
		return err
	}
	if !v.Can("RecordPack") {
		return fault.New(fault.Forbidden, "A lead or a surveyor makes record packs.")
	}
	in, err := packIn(c)
	if err != nil {
		return err
	}
	p := packPage{Page: h.page(c, &v.Frame, "Record pack"), From: v.From.String(), To: v.To.String(), Key: h.desk.SigningKey()}
	p.Back = &Link{Href: "/records", Text: "Records"}
	for _, s := range v.Sealers {
		ticked := len(in.Sealers) == 0
		for _, code := range in.Sealers {
			ticked = ticked || code == s.Code
		}
		p.Sealers = append(p.Sealers, choice{Value: s.Code, Text: "Sealer " + s.Number, Checked: ticked})
	}
	for _, s := range desk.PackSections() {
		p.Sections = append(p.Sections, Action{To: "/records/pack/" + s.ID, Text: s.Title, Tone: "plain"})
	}
	return h.render(c, http.StatusOK, "recordpack", p)
}

// zipped stands for the bytes of a pack where a type is wanted.
type zipped []byte

// sendPack makes a pack and sends it. Nothing of the ledger is held while it
// goes over the network, however slow that is.
func (h *house) sendPack(c echo.Context) error {
	in, err := packIn(c)
	if err != nil {
		return err
	}
	pack, err := h.desk.RecordPack(c.Request().Context(), caller(c), in, packWords{})
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderContentType, "application/zip")
	c.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="`+pack.Name+`"`)
	http.ServeContent(patient{c.Response()}, c.Request(), pack.Name, time.Time{}, pack)
	return pack.Close()
}

// patience is how long one write of a long answer may take.
const patience = 30 * time.Second

// patient writes a long answer: each write has a time of its own instead of one
// for the whole.
type patient struct{ *echo.Response }

func (p patient) Write(b []byte) (int, error) {
	control := http.NewResponseController(p.Response)
	if err := control.SetWriteDeadline(time.Now().Add(patience)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return 0, err
	}
	return p.Response.Write(b)
}

// ReadFrom keeps the copy from going around Write.
func (p patient) ReadFrom(r io.Reader) (int64, error) {
	return io.Copy(struct{ io.Writer }{p}, r)
}

// sectionPage is a section of a record pack to read and to print.
type sectionPage struct {
	Page
	V      *desk.PackSheet
	Blocks []sectionBlock
	Pages  []Link
}

type sectionBlock struct {
	Heading, Text string
	Table         *table
}

func (h *house) askSection(c echo.Context) (*desk.PackSheet, error) {
	in, err := packIn(c)
	if err != nil {
		return nil, err
	}
	return h.desk.RecordSection(c.Request().Context(), caller(c), in, c.Param("section"), packWords{})
}

func (h *house) drawSection(c echo.Context, v *desk.PackSheet) error {
	p := sectionPage{Page: h.page(c, &v.Frame, v.Title), V: v}
	p.Sub = v.Place + ", " + dateText(v.From) + " to " + dateText(v.To)
	query := "?" + c.QueryString()
	p.Back = &Link{Href: "/records/pack" + query, Text: "Record pack"}
	for _, b := range v.Blocks {
		block := sectionBlock{Heading: b.Heading, Text: b.Text}
		if len(b.Head) > 0 {
			block.Table = &table{Caption: b.Caption}
			for _, col := range b.Head {
				block.Table.Head = append(block.Table.Head, head{col.Text, col.Num})
			}
			for _, cells := range b.Rows {
				var line []cell
				for _, text := range cells {
					line = append(line, cell{Text: text})
				}
				block.Table.Rows = append(block.Table.Rows, line)
			}
		}
		p.Blocks = append(p.Blocks, block)
	}
	for _, s := range desk.PackSections() {
		p.Pages = append(p.Pages, Link{Href: "/records/pack/" + s.ID + query, Text: s.Title, Here: s.ID == v.ID})
	}
	p.Print.Mark = v.Mark
	return h.render(c, http.StatusOK, "recordsection", p)
}

// packWords are the words of the pages, as a record pack wants them.
type packWords struct{}

func (packWords) Day(s rules.DayStatus) string { return dayWords[s] }
func (packWords) Gap(d rules.DayRow) string    { return gapText(d) }
func (packWords) Line(f *desk.Frame, l *desk.Line) (title, text string) {
	w := describe(f, l)
	return w.Title, w.Text
}
func (packWords) Type(t record.SealerType) string   { return typeWords[t] }
func (packWords) Material(m record.Material) string { return materialWords[m] }
func (packWords) Document(d record.Document) string { return documentText(d) }
func (packWords) Roles(r []record.Role) string      { return rolesText(r) }
func (packWords) Problem(p *desk.ProblemRef) string { return capital(whatLine(p)) }
func (packWords) Standing(f *desk.Frame, st record.Readiness) string {
	return listed(shortWord(stateWord(f, st)), whyWords[st.Why])
}

func (packWords) Plan(p record.Plan) string {
	return listed(placesLine(p.Places), testsLine(p.Tests), "good checks in a row after a repair: "+itoa(p.ReturnGood),
		unlessFalse(p.Changeover, "a check before each changeover"), unlessFalse(p.Closing, "a closing check"),
		unlessFalse(len(p.PerShift) > 0, "a check for each shift"))
}
