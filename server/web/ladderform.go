package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

type ladderForm struct {
	Page
	hidden
	V       *desk.FactsView
	In      desk.LadderIn
	Cells   cells
	Pouches []choice
	Units   []choice
	Actions []Action
	Err     map[string]string
	Summary *Summary
}

// newLadder asks for a ladder trial.
func (h *house) newLadder(c echo.Context) error {
	var in desk.LadderIn
	in.Pouch, _ = record.ParseID(c.QueryParam("pouch")) // anything else means: not chosen
	return h.ladderForm(c, http.StatusOK, in, nil)
}

// moreLadderRows draws the form with more rows and what was typed; nothing is
// recorded.
func (h *house) moreLadderRows(c echo.Context) error {
	var in desk.LadderIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	return h.ladderForm(c, http.StatusOK, in, nil)
}

func (h *house) ladderAgain(c echo.Context, in desk.LadderIn, err error) error {
	return h.ladderForm(c, status(err), in, err)
}

func (h *house) ladderForm(c echo.Context, code int, in desk.LadderIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return viewErr
	}
	p := ladderForm{Page: h.page(c, &v.Frame, "Ladder trial"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Pouches: pouchChoices(v, in.Pouch), Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	units := controlUnits[v.Type]
	p.Units = chosen(choices(units, controlUnitWords), orText(in.Unit, string(unitOf(v))))
	p.Cells = newCells("Each seal by itself", rowsAsked(c.FormValue("rows")), badField(err),
		column{name: "setting", head: "Setting", values: in.Setting},
		column{name: "look", head: "Look", values: in.Look, options: looks},
		column{name: "dye", head: "Dye", values: in.Dye, options: passOrFail},
		column{name: "peel", head: "Peel", values: in.Peel, options: passOrFail})
	p.Actions = []Action{{Text: "Record this trial", Tone: "main", Big: true},
		{Text: "More rows", Skip: true, To: "/S/" + v.Code + "/ladders/rows", Name: "rows",
			Value: itoa(len(p.Cells.Rows) + moreRows)}}
	return h.render(c, code, "ladderform", p)
}

// unitOf is the unit of a setting typed without one.
func unitOf(v *desk.FactsView) sealing.Unit {
	unit := controlUnits[v.Type][0]
	if unit == sealing.Celsius {
		return v.Dept.Scale()
	}
	return unit
}

// pouchChoices are the pouches in use.
func pouchChoices(v *desk.FactsView, pouch record.ID) (list []choice) {
	for i := range v.Settings {
		s := &v.Settings[i]
		list = append(list, choice{s.ID.String(), s.Name, s.ID == pouch || len(v.Settings) == 1})
	}
	return list
}

func afterLadder(c echo.Context, _ desk.LadderIn, done desk.Done) string {
	return "/S/" + c.Param("code") + "/ladders/" + seqText(done.Seq) + "?said=saved"
}

var passOrFail = []choice{{Value: "", Text: "–"}, {Value: "pass", Text: "pass"}, {Value: "fail", Text: "fail"}}

var looks = []choice{{Value: "", Text: "–"}, {Value: "even", Text: "even"}, {Value: "open", Text: "open"},
	{Value: "burnt", Text: "burnt"}, {Value: "torn", Text: "torn"}}
