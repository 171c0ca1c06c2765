package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

// farewellPage moves a sealer, or retires it for good.
type farewellPage struct {
	Page
	V       *desk.FactsView
	Move    hidden
	Retire  hidden
	Place   string
	Why     string
	Err     map[string]string
	Summary *Summary
}

func (h *house) farewell(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	return h.farewellPage(c, http.StatusOK, v, desk.MoveIn{}, desk.RetireIn{}, nil)
}

func (h *house) moveAgain(c echo.Context, in desk.MoveIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, in, desk.RetireIn{}, err)
}

func (h *house) retireAgain(c echo.Context, in desk.RetireIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, desk.MoveIn{}, in, err)
}

func (h *house) farewellPage(c echo.Context, code int, v *desk.FactsView, move desk.MoveIn,
	retire desk.RetireIn,
	err error) error {
	p := farewellPage{Page: h.page(c, &v.Frame, "Move or retire sealer "+v.Number), V: v,
		Place: move.Place, Why: retire.Why,
		Move: formFor(&v.Frame, move.From, "move"), Retire: formFor(&v.Frame, retire.From,
			"retire"),
		Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Back = &Link{Href: "/S/" + v.Code + "/facts", Text: "Sealer " + v.Number}
	return h.render(c, code, "farewell", p)
}
