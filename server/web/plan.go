package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type planPage struct {
	Page
	hidden
	V             *desk.PlanView
	In            planForm
	Places, Tests []choice
	Changes       []event
	Err           map[string]string
	Summary       *Summary
}

// planForm is what the form shows: the plan, or what was typed.
type planForm struct {
	ReturnGood, Cool, Warm, PerShift, Policy, Reason string
	AskShown, Changeover, Closing                    bool
}

var (
	allPlaces = []record.Place{record.Left, record.Middle, record.Right, record.Whole}
	allTests  = []record.Test{record.Look, record.Dye, record.Indicator, record.Peel}
)

func (h *house) askPlan(c echo.Context) (*desk.PlanView, error) {
	return h.desk.Plan(caller(c), record.SealerType(c.Param("type")))
}

func (h *house) drawPlan(c echo.Context, v *desk.PlanView) error {
	var shifts []string
	for _, minutes := range v.Plan.PerShift {
		shifts = append(shifts, clockOf(minutes))
	}
	in := planForm{ReturnGood: itoa(v.Plan.ReturnGood), Cool: itoa(v.Plan.CoolMinutes),
		Warm: itoa(v.Plan.WarmMinutes), PerShift: strings.Join(shifts, ", "), Policy: v.Plan.Policy,
		AskShown: v.Plan.AskShown, Changeover: v.Plan.Changeover, Closing: v.Plan.Closing}
	return h.planPage(c, http.StatusOK, v, in, desk.PlanIn{Places: v.Plan.Places,
		Tests: v.Plan.Tests}, nil)
}

// planAgain draws the form with what was typed.
func (h *house) planAgain(c echo.Context, in desk.PlanIn, err error) error {
	v, viewErr := h.askPlan(c)
	if viewErr != nil {
		return err
	}
	return h.planPage(c, status(err), v, planForm{ReturnGood: c.FormValue("return_good"),
		Cool: c.FormValue("cool_minutes"), Warm: c.FormValue("warm_minutes"), PerShift: in.PerShift,
		Policy: in.Policy, Reason: in.Reason, AskShown: in.AskShown, Changeover: in.Changeover, Closing: in.Closing}, in, err)
}

func (h *house) planPage(c echo.Context, code int, v *desk.PlanView, form planForm, in desk.PlanIn,
	err error) error {
	p := planPage{Page: h.page(c, &v.Frame, "Check plan"), hidden: formFor(&v.Frame, in.From, ""),
		V:  v,
		In: form, Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = typeWords[v.Type], &Link{Href: "/set-up", Text: "Set-up"}
	p.Places = chosen(choices(allPlaces, capitals(placeWords)), texts(in.Places)...)
	p.Tests = chosen(choices(allTests, capitals(testNames)), texts(in.Tests)...)
	p.Changes = timeline(&v.Frame, v.Changes)
	return h.render(c, code, "plan", p)
}

// capitals are the words as they begin a line.
func capitals[T ~string](words map[T]string) map[T]string {
	m := make(map[T]string, len(words))
	for code, w := range words {
		m[code] = strings.ToUpper(w[:1]) + w[1:]
	}
	return m
}
