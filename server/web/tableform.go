package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

type tableForm struct {
	Page
	hidden
	V          *desk.FactsView
	In         desk.TableIn
	Cells      cells
	Maker      bool
	Conditions []choice
	Scales     []choice
	Stated     []choice
	Switch     bool // offer that nothing lies between positions
	Sure       bool // ask whether it is meant so
	Due        string
	Actions    []Action
	Err        map[string]string
	Summary    *Summary
}

// newTable asks for a temperature table: measured, or with ?source=maker from
// the maker's manual.
func (h *house) newTable(c echo.Context) error {
	in := desk.TableIn{Source: record.Measured}
	if c.QueryParam("source") == string(record.FromMaker) {
		in.Source = record.FromMaker
	}
	return h.tableForm(c, http.StatusOK, in, nil)
}

// moreTableRows draws the form with more rows and what was typed; nothing is
// recorded.
func (h *house) moreTableRows(c echo.Context) error {
	var in desk.TableIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	return h.tableForm(c, http.StatusOK, in, nil)
}

func (h *house) tableAgain(c echo.Context, in desk.TableIn, err error) error {
	return h.tableForm(c, status(err), in, err)
}

func (h *house) tableForm(c echo.Context, code int, in desk.TableIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return viewErr
	}
	if !sealingTable(v) {
		return fault.New(fault.Unknown, "The positions of this kind of sealer mean no degrees. Use a ladder trial.")
	}
	p := tableForm{Page: h.page(c, &v.Frame, "Temperature table"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Maker: in.Source == record.FromMaker, Err: fieldErrors(err), Summary: summaryOf(err), Due: c.FormValue("due")}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	p.Sure = in.Sure || p.Err["sure"] != ""
	p.Switch = v.Type == record.BarDial
	p.Conditions = chosen(conditions, string(in.Condition))
	p.Scales = chosen(scales, scaleChosen(&v.Frame, in.Scale))
	p.Stated = chosen(statements, orText(in.Stated, string(sealing.Accuracy)))
	rows := rowsAsked(c.FormValue("rows"))
	p.Cells = newCells("What was measured, at the sealing face", rows, badField(err), p.columns()...)
	if p.Maker {
		p.Cells.Caption = "What the manual says"
	}
	p.Actions = []Action{{Text: "Record this table", Tone: "main", Big: true},
		{Text: "More rows", Skip: true, To: "/S/" + v.Code + "/tables/rows", Name: "rows",
			Value: itoa(len(p.Cells.Rows) + moreRows)}}
	return h.render(c, code, "tableform", p)
}

// columns are those of three places, or one for the whole bar.
func (p *tableForm) columns() []column {
	position := column{name: "position", head: "Dial", values: p.In.Position}
	if p.V.Type != record.BarDial {
		position.head = "Display"
	}
	if p.Maker || p.V.Type == record.Continuous {
		return []column{position, {name: "whole", head: "Face", values: p.In.Whole}}
	}
	return []column{position, {name: "left", head: "Left", values: p.In.Left},
		{name: "middle", head: "Middle", values: p.In.Middle}, {name: "right", head: "Right", values: p.In.Right}}
}

func afterTable(c echo.Context, _ desk.TableIn, done desk.Done) string {
	return "/S/" + c.Param("code") + "/tables/" + seqText(done.Seq) + "?said=" + saidOf(done)
}

// saidOf tells whether what was recorded has put an approved setting in doubt.
func saidOf(done desk.Done) string {
	if done.Count > 1 {
		return "doubted"
	}
	return "saved"
}

func sealingTable(v *desk.FactsView) bool { return v.Type != record.Impulse }

var conditions = []choice{
	{Value: "as-found", Text: "As found"},
	{Value: "as-left", Text: "As left, after adjusting"},
}

var scales = []choice{{Value: "degC", Text: "°C"}, {Value: "degF", Text: "°F"}}

var statements = []choice{
	{Value: "accuracy", Text: "± accuracy, as its maker states it"},
	{Value: "expanded", Text: "uncertainty U of the certificate (k = 2)"},
	{Value: "standard", Text: "standard uncertainty u"},
}

// scaleChosen is the scale of temperatures typed without one.
func scaleChosen(f *desk.Frame, said sealing.Unit) string {
	if said == "" {
		said = f.Dept.Scale()
	}
	return string(said)
}

func orText(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

// badField is the id of the field that was not taken.
func badField(err error) string {
	if err == nil {
		return ""
	}
	return asFault(err).Field
}
