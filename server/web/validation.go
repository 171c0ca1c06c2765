package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

// validationPage asks for one of three tests of seals.
type validationPage struct {
	Page
	hidden
	V       *desk.FactsView
	What    string // strength, width or sterilized
	Kinds   []Link
	Pouches []choice
	Units   []choice
	In      validationIn
	Err     map[string]string
	Summary *Summary
}

// validationIn is what was typed, whichever test it is of.
type validationIn struct {
	desk.From
	desk.MadeIn
	Strips, StripsUnit, Minimum, Method  string
	Ribs, RibsUnit, Least                string
	Process, Load                        string
	Before, BeforeGood, After, AfterGood string
}

var validations = []choice{{Value: "strength", Text: "Seal strength"}, {Value: "width", Text: "Seal width"},
	{Value: "sterilized", Text: "After sterilizing"}}

// newValidation asks for a validation, that of ?what=.
func (h *house) newValidation(c echo.Context) error {
	return h.validationPage(c, http.StatusOK, orText(c.QueryParam("what"), "strength"), validationIn{}, nil)
}

func (h *house) strengthAgain(c echo.Context, in desk.StrengthIn, err error) error {
	return h.validationPage(c, status(err), "strength", validationIn{From: in.From, MadeIn: in.MadeIn, Strips: in.Strips,
		StripsUnit: in.StripsUnit, Minimum: in.Minimum, Method: in.Method}, err)
}

func (h *house) widthAgain(c echo.Context, in desk.WidthIn, err error) error {
	return h.validationPage(c, status(err), "width", validationIn{From: in.From, MadeIn: in.MadeIn, Ribs: in.Ribs,
		RibsUnit: in.RibsUnit, Least: in.Least}, err)
}

func (h *house) sterilizedAgain(c echo.Context, in desk.SterilizedIn, err error) error {
	return h.validationPage(c, status(err), "sterilized", validationIn{From: in.From, MadeIn: in.MadeIn,
		Process: in.Process, Load: in.Load, Before: c.FormValue("before"), BeforeGood: c.FormValue("before_good"),
		After: c.FormValue("after"), AfterGood: c.FormValue("after_good")}, err)
}

func (h *house) validationPage(c echo.Context, code int, what string, in validationIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return viewErr
	}
	p := validationPage{Page: h.page(c, &v.Frame, "Validation of seals"), hidden: formFor(&v.Frame, in.From, ""), V: v,
		What: what, Pouches: pouchChoices(v, in.Pouch), In: in, Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	for _, k := range validations {
		p.Kinds = append(p.Kinds, Link{Href: "?what=" + k.Value, Text: k.Text, Here: k.Value == what})
	}
	units := controlUnits[v.Type]
	p.Units = chosen(choices(units, controlUnitWords), orText(in.Unit, string(unitOf(v))))
	if in.ID.IsZero() {
		p.In.StripsUnit, p.In.RibsUnit, p.In.Least, p.In.Minimum = "N/15mm", "mm", "6 mm", "1.5 N/15mm"
	}
	return h.render(c, code, "validation", p)
}

// afterValidation leads back to where it is listed with what it shows.
func afterValidation[In any](c echo.Context, _ In, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/settings?said=saved"
}
