package web

import (
	"encoding/base64"
	"io"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// importWords tell what can be taken from a file: its title, what a row is.
var importWords = map[string]struct{ title, row, note string }{
	"sealers": {"Sealers", "a sealer", "Each gets the code of a label. Approve their settings afterwards: no file can."},
	"pouches": {"Pouches", "a pouch", "As their IFU describes them."},
	"people":  {"People", "a person", "Each gets a first PIN, shown once, on a sheet to print and cut."},
	"past": {"Past records", "a check, a repair or a task that was written down elsewhere",
		"They are marked as from a file. They make no sealer ready, end no problem, shorten no hold and stand in a column of their own."},
}

var pastWords = map[string]string{record.PastCheck: "Checks", record.PastMaintenance: "Maintenance", record.PastRepair: "Repairs",
	record.PastCalibration: "Calibrations", record.PastOther: "Something else"}

type importStartPage struct {
	Page
	Rows []row
}

func (h *house) importStart(c echo.Context) error {
	v, err := h.desk.Sealers(caller(c))
	if err != nil {
		return err
	}
	if !v.Can("Import") {
		return fault.New(fault.Forbidden, "Files are taken in by a lead.")
	}
	p := importStartPage{Page: h.page(c, &v.Frame, "From a file")}
	p.Back = &Link{Href: "/set-up", Text: "Set-up"}
	for _, what := range desk.ImportKinds() {
		p.Rows = append(p.Rows, row{Text: importWords[what].title, Note: importWords[what].note, Href: "/import/" + what})
	}
	return h.render(c, http.StatusOK, "importstart", p)
}

// importPage asks for a file, then shows what would become of it.
type importPage struct {
	Page
	hidden
	What, Note, Row string
	Fields          []string
	Past            []choice
	View            *desk.ImportView
	Kept            string
	Lead            string
	Columns         []importColumn
	Table           table
	Wrong           table
	AllAre          string
	Err             map[string]string
	Summary         *Summary
}

// importColumn is the choice of a column for one field.
type importColumn struct {
	ID, Label, Value string
	Options          []choice
}

func importWhat(c echo.Context) (string, error) {
	what := c.Param("what")
	if _, ok := importWords[what]; !ok {
		return "", fault.New(fault.Unknown, "Nothing of this kind can be taken from a file.")
	}
	return what, nil
}

func (h *house) importForm(c echo.Context) error {
	return h.importFormPage(c, http.StatusOK, nil)
}

func (h *house) importFormPage(c echo.Context, code int, err error) error {
	what, unknown := importWhat(c)
	if unknown != nil {
		return unknown
	}
	v, viewErr := h.desk.Sealers(caller(c))
	if viewErr != nil {
		return viewErr
	}
	if !v.Can("Import") {
		return fault.New(fault.Forbidden, "Files are taken in by a lead.")
	}
	p := h.importFrame(c, &v.Frame, what)
	p.Err, p.Summary = fieldErrors(err), summaryOf(err)
	p.Fields = desk.ImportFields(what)
	return h.render(c, code, "importfile", p)
}

func (h *house) importFrame(c echo.Context, f *desk.Frame, what string) importPage {
	words := importWords[what]
	p := importPage{Page: h.page(c, f, words.title+" from a file"), hidden: formOf(f), What: what, Note: words.note, Row: words.row}
	p.Back = &Link{Href: "/import", Text: "From a file"}
	if what == "past" {
		p.Past = choices(record.Pasts(), pastWords)
	}
	return p
}

// importExample is a file to begin with: the names of the columns.
func (h *house) importExample(c echo.Context) error {
	what, err := importWhat(c)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="`+what+`.csv"`)
	return c.Blob(http.StatusOK, "text/csv; charset=utf-8", []byte("\ufeff"+strings.Join(desk.ImportFields(what), ",")+"\r\n"))
}

// readImport reads the form with its file.
func readImport(c echo.Context) (desk.ImportIn, error) {
	var in desk.ImportIn
	if err := readForm(c, &in); err != nil {
		return in, err
	}
	file, err := c.FormFile("file")
	if err != nil {
		return in, nil // none chosen: kept by the page before, or missing
	}
	opened, err := file.Open()
	if err != nil {
		return in, fault.Wrap(err, fault.Invalid, "The file did not arrive. Choose it again.")
	}
	defer opened.Close()
	in.File, err = io.ReadAll(io.LimitReader(opened, 1<<20))
	return in, err
}

func (h *house) importPreview(c echo.Context) error {
	in, err := readImport(c)
	if err != nil {
		return h.importFormPage(c, status(err), err)
	}
	return h.drawPreview(c, http.StatusOK, in, nil)
}

// drawPreview shows the rows as they would come in. A column that does not fit
// has them found by name again.
func (h *house) drawPreview(c echo.Context, code int, in desk.ImportIn, refused error) error {
	v, err := h.desk.PreviewImport(c.Request().Context(), caller(c), in)
	if err != nil {
		return h.importFormPage(c, status(err), err)
	}
	p := h.importFrame(c, &v.Frame, in.What)
	p.View, p.Kept, p.AllAre = v, base64.StdEncoding.EncodeToString(v.Bytes), in.AllAre
	p.Past = chosen(p.Past, or(in.AllAre, record.PastCheck))
	p.Err, p.Summary = fieldErrors(refused), summaryOf(refused)
	p.Lead = importLead(v)
	for i, f := range v.Fields {
		col := importColumn{ID: "columns-" + itoa(i+1), Label: plainField(f.Name), Value: f.Column,
			Options: []choice{{Text: "not in this file"}}}
		if f.Must {
			col.Label += " (needed)"
		}
		for _, name := range v.Head {
			col.Options = append(col.Options, choice{Value: name, Text: name})
		}
		p.Columns = append(p.Columns, col)
	}
	p.Table, p.Wrong = importTables(v)
	return h.render(c, code, "importpreview", p)
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func plainField(name string) string { return capital(strings.ReplaceAll(name, "_", " ")) }

func importLead(v *desk.ImportView) string {
	parts := []string{itoa(v.New) + " can be taken in"}
	if v.Wrong > 0 {
		parts = append(parts, itoa(v.Wrong)+" cannot")
	}
	if v.Known > 0 {
		parts = append(parts, itoa(v.Known)+" came in before and stay as they are")
	}
	return "Of " + itoa(len(v.Rows)) + " rows " + listed(parts...) + "."
}

// shownRows is how many rows a preview shows; every one that is wrong is shown.
const shownRows = 50

func importTables(v *desk.ImportView) (good, wrong table) {
	good = table{Caption: "Rows as they would come in", Head: []head{{Text: "Line"}}}
	wrong = table{Caption: "Rows that cannot be taken", Head: []head{{Text: "Line"}, {Text: "Why"}, {Text: "What it says"}}}
	var shown []int
	for i, f := range v.Fields {
		if f.Column != "" {
			shown = append(shown, i)
			good.Head = append(good.Head, head{Text: plainField(f.Name)})
		}
	}
	for _, r := range v.Rows {
		if r.Wrong != "" {
			wrong.Rows = append(wrong.Rows, []cell{{Text: "Line " + itoa(r.Line)}, {Text: r.Wrong, Tone: "out"}, {Text: listed(r.Cells...), Tone: "soft"}})
			continue
		}
		if len(good.Rows) >= shownRows {
			continue
		}
		cells := []cell{{Text: "Line " + itoa(r.Line)}}
		for _, i := range shown {
			cells = append(cells, cell{Text: r.Cells[i]})
		}
		if r.Known {
			cells[0].Text += ", came in before"
		}
		good.Rows = append(good.Rows, cells)
	}
	return good, wrong
}

// importDonePage tells what came in. PINs stand here and nowhere else: an address
// must not carry them, so no redirect follows.
type importDonePage struct {
	Page
	Lead string
	Left table
	PINs []firstPIN
	Next []Link
}

type firstPIN struct{ Name, PIN string }

func (h *house) takeImport(c echo.Context) error {
	in, err := readImport(c)
	if err != nil {
		return h.importFormPage(c, status(err), err)
	}
	done, err := h.desk.TakeImport(c.Request().Context(), caller(c), in)
	if fault.Is(err, fault.Invalid) {
		return h.drawPreview(c, status(err), in, err)
	}
	if err != nil {
		return err
	}
	v, err := h.desk.Sealers(caller(c))
	if err != nil {
		return err
	}
	p := importDonePage{Page: h.page(c, &v.Frame, importWords[in.What].title+" from a file")}
	p.Back = &Link{Href: "/import", Text: "From a file"}
	p.Lead = itoa(done.Taken) + " taken in"
	if done.Known > 0 {
		p.Lead += ", " + itoa(done.Known) + " came in before and stay as they are"
	}
	p.Left = table{Caption: "Left out", Head: []head{{Text: "Line"}, {Text: "Why"}, {Text: "What it says"}}}
	for _, r := range done.Left {
		p.Left.Rows = append(p.Left.Rows, []cell{{Text: "Line " + itoa(r.Line)}, {Text: r.Wrong, Tone: "out"}, {Text: listed(r.Cells...), Tone: "soft"}})
	}
	for _, o := range done.PINs {
		p.PINs = append(p.PINs, firstPIN{o.Name, o.PIN[:3] + " " + o.PIN[3:]})
	}
	p.Next = map[string][]Link{"sealers": {{Href: "/labels", Text: "Print the labels"}, {Href: "/set-up", Text: "Approve settings"}},
		"pouches": {{Href: "/pouches", Text: "Pouches"}}, "people": {{Href: "/people", Text: "People and devices"}},
		"past": {{Href: "/records", Text: "Records"}}}[in.What]
	return h.render(c, http.StatusOK, "importdone", p)
}
