package web

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// problemStep binds a step of a problem to its form, and to its twin in the JSON
// interface. A form that is not taken is drawn again by again; without it, the
// problem is, as it stands now.
func problemStep[In any](h *house, e *router, path, said string, use useCase[In, desk.Done],
	again func(echo.Context, In, error) error) {
	if again == nil {
		again = func(c echo.Context, _ In, err error) error { return h.problemAgain(c, err) }
	}
	next := func(c echo.Context, _ In, out desk.Done) string {
		if c.FormValue("from") == "queue" {
			return "/queue?said=" + said
		}
		return problemPath(out.Problem) + "?said=" + said
	}
	both(h, e, "/problems/:problem"+path, "/problems/:problem"+path, use, next, again)
}

// stepPage is a form of one question, and perhaps a reason.
type stepPage struct {
	Page
	hidden
	To       string // address of the form
	Text     string
	Callouts []Callout
	Name     string // of the choices
	Legend   string
	Choices  []choice
	Reason   bool
	Must     bool // the reason has to be given
	Typed    string
	Err      map[string]string
	Summary  *Summary
	Actions  []Action
}

// stepForm draws a page that starts from a problem.
func (h *house) stepForm(draw func(echo.Context, *desk.ProblemView, error) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		v, err := h.askProblem(c)
		if err != nil {
			return err
		}
		return draw(c, v, nil)
	}
}

// again draws the form of a step that was not taken.
func stepAgain[In any](h *house, draw func(echo.Context, *desk.ProblemView,
	error) error) func(echo.Context, In, error) error {
	return func(c echo.Context, _ In, err error) error {
		v, viewErr := h.askProblem(c)
		if viewErr != nil {
			return err
		}
		return draw(c, v, err)
	}
}

// stepPage begins the page of a step; what was typed is kept.
func (h *house) stepPage(c echo.Context, v *desk.ProblemView, title, to string,
	err error) stepPage {
	p := stepPage{Page: h.page(c, &v.Frame, title), To: problemPath(v.Ref.ID) + to,
		hidden: formFor(&v.Frame, typedFrom(c), ""), Typed: c.FormValue("reason"),
		Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub = "problem " + itoa(v.Ref.Number)
	p.Back = &Link{Href: problemPath(v.Ref.ID), Text: "Problem " + itoa(v.Ref.Number)}
	return p
}

// typedFrom is the id of a form that was sent and is drawn again. One that was
// refused as stale was drawn from an older state and begins anew.
func typedFrom(c echo.Context) (from desk.From) {
	if c.Request().Method == http.MethodPost {
		from.ID, _ = record.ParseID(c.FormValue("id"))
	}
	return from
}

// code is the status of a page that is drawn again, 200 of one that is not.
func code(err error) int {
	if err == nil {
		return http.StatusOK
	}
	return status(err)
}

func (h *house) judgementPage(c echo.Context, v *desk.ProblemView, err error) error {
	p := h.stepPage(c, v, "Where it comes from", "/judgement", err)
	ask := judgement(v, problemPath(v.Ref.ID))
	p.Name, p.Legend, p.Text, p.Actions = "blame", ask.Legend, ask.Text, ask.Actions
	p.Choices = chosen(ask.Choices, string(v.Problem.Blame))
	return h.render(c, code(err), "step", p)
}

func (h *house) answerPage(c echo.Context, v *desk.ProblemView, err error) error {
	hold := &v.HoldList
	if !hold.Open && err == nil {
		return fault.New(fault.Stale, "There is nothing to answer: the hold is as wide as it can be.")
	}
	p := h.stepPage(c, v, "The wider hold", "/answer", err)
	p.Text = blindText(v)
	p.Callouts = []Callout{
		{Lead: "Proposed:", Text: windowText(v, hold.Proposed, "good check") + "."},
		{Tone: "due", Lead: "Possible:",
			Text: windowText(v, hold.Possible, "check that could have seen it") + "."}}
	p.Reason, p.Must = true, true
	p.Actions = []Action{
		{Text: "The wider one counts", Tone: "main", Name: "accept", Value: "true"},
		{Text: "Keep the proposed one", Name: "accept", Value: "false"}}
	return h.render(c, code(err), "step", p)
}

// blindText says why later passes prove nothing about these packs.
func blindText(v *desk.ProblemView) string {
	p, tested := &v.Problem, placesLine(v.HoldList.Blind)
	if p.Place == record.NoPlace || p.Place == record.Whole || tested == "" || slices.Contains(v.HoldList.Blind, p.Place) {
		return "Checks in between could not have seen this fault: they did not test that place, " +
			"or not in a way that shows it. A pass there says nothing about these packs."
	}
	return "Checks in between tested " + tested + " only: a later pass there does not prove " + placeWords[p.Place] +
		", where this fault is. A pass there says nothing about these packs."
}

func (h *house) settledPage(c echo.Context, v *desk.ProblemView, err error) error {
	p := h.stepPage(c, v, "Packs are settled", "/settled", err)
	p.Text = packsText(v.HoldList.Settled) + " settled of at least " + itoa(v.HoldList.Total) +
		" on the list. A pack that turns up later opens the list again."
	if v.HoldList.Total == 0 {
		p.Text = "No packs are logged in this window. Say where you looked and what you found."
	}
	p.Reason = true
	p.Actions = []Action{{Text: "Every pack has an end", Tone: "main", Big: true}}
	return h.render(c, code(err), "step", p)
}

func (h *house) closePage(c echo.Context, v *desk.ProblemView, err error) error {
	p := h.stepPage(c, v, "Close the problem", "/close", err)
	p.Text = "Say what it was and what keeps it from coming back. The records stay."
	p.Reason = true
	p.Actions = []Action{{Text: "Close problem " + itoa(v.Ref.Number), Tone: "main", Big: true}}
	return h.render(c, code(err), "step", p)
}

type fixPage struct {
	stepPage
	Did, Causes []choice
}

var (
	fixCodes   = []string{"set", "warmed-up", "jaw-cleaned", "new-kit", "new-lot"}
	causeCodes = []string{"setting", "warm-up", "dirt", "kit", "pouch"}
)

// fixPage asks what a lead or a trained person did before the return checks.
func (h *house) fixPage(c echo.Context, v *desk.ProblemView, err error) error {
	p := fixPage{stepPage: h.stepPage(c, v, "First-line fix", "/fix", err)}
	form, _ := c.FormParams()
	p.Did = chosen(choices(fixCodes, capitals(fixWords)), form["did"]...)
	p.Causes = chosen(choices(causeCodes, capitals(fixCauses)), form["was"]...)
	p.Typed = c.FormValue("note")
	p.Text = "Return checks follow. " + v.EngineeringWord() + " is informed, not called. " +
		"The same cause again within 30 days is for them."
	p.Actions = []Action{{Text: "Fixed, test it now", Tone: "main", Big: true}}
	return h.render(c, code(err), "fix", p)
}
