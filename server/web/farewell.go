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
	Away    hidden
	Back    hidden
	Stand   hidden
	Place   string
	Why     string
	AwayIn  desk.AwayIn
	StandIn desk.StandInIn
	Others  []choice
	Err     map[string]string
	Summary *Summary
}

func (h *house) farewell(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	return h.farewellPage(c, http.StatusOK, v, farewells{}, nil)
}

func (h *house) moveAgain(c echo.Context, in desk.MoveIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, farewells{move: in}, err)
}

func (h *house) retireAgain(c echo.Context, in desk.RetireIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, farewells{retire: in}, err)
}

func (h *house) awayAgain(c echo.Context, in desk.AwayIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, farewells{away: in}, err)
}

func (h *house) standInAgain(c echo.Context, in desk.StandInIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.farewellPage(c, status(err), v, farewells{stand: in}, err)
}

// farewells are the forms of the page, one of them filled in.
type farewells struct {
	move   desk.MoveIn
	retire desk.RetireIn
	away   desk.AwayIn
	stand  desk.StandInIn
}

func (h *house) farewellPage(c echo.Context, code int, v *desk.FactsView, in farewells, err error) error {
	f := &v.Frame
	p := farewellPage{Page: h.page(c, f, "Move, lend or retire sealer "+v.Number), V: v,
		Place: in.move.Place, Why: in.retire.Why, AwayIn: in.away, StandIn: in.stand,
		Move: formFor(f, in.move.From, "move"), Retire: formFor(f, in.retire.From, "retire"),
		Away: formFor(f, in.away.From, "away"), Back: formFor(f, in.move.From, "back"),
		Stand: formFor(f, in.stand.From, "stand-in"),
		Err:   fieldErrors(err), Summary: summaryOf(err)}
	p.Page.Back = &Link{Href: "/S/" + v.Code + "/facts", Text: "Sealer " + v.Number}
	if p.StandIn.For == "" && v.Where.StandFor != nil {
		p.StandIn.For = v.Where.StandFor.Text
	}
	p.Others = []choice{{Text: "For none"}}
	for _, o := range v.Others {
		p.Others = append(p.Others, choice{Value: o.Text, Text: "Sealer " + o.Text})
	}
	return h.render(c, code, "farewell", p)
}
