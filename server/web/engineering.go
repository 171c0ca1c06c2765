package web

import (
	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// workPage is a form of clinical engineering: for its people, for a lead who
// speaks for them, and by link.
type workPage struct {
	stepPage
	In     desk.WorkIn
	Signer signer
}

type handBackPage struct {
	stepPage
	In                    desk.HandBackIn
	Signer                signer
	Findings, Did, Safety []choice
}

// signer asks whose word it is: a name by link, a person where a lead speaks for
// somebody, nothing where they are signed in themselves.
type signer struct {
	ByLink    bool
	Name      string
	NameError string
	People    []option
	For       string
	ForError  string
}

// option is one of a list: see "select" in static/templates/partials/form.html.
type option struct{ Value, Text string }

// signerOf asks a lead for whom they speak.
func signerOf(v *desk.ProblemView, onBehalfOf record.ID, err error) signer {
	s := signer{ForError: fieldError(err, "on_behalf_of")}
	if v.Person.Has(record.Engineering) {
		return s
	}
	if !onBehalfOf.IsZero() {
		s.For = onBehalfOf.String()
	}
	s.People = []option{{Text: "nobody by name"}}
	for _, r := range v.Engineers {
		s.People = append(s.People, option{r.ID.String(), r.Text})
	}
	return s
}

func (h *house) workForm(c echo.Context) error {
	v, err := h.askProblem(c)
	if err != nil {
		return err
	}
	return h.workPage(c, v, desk.WorkIn{Order: v.Problem.Order, Vendor: v.Problem.Vendor,
		Expected: v.Problem.Expected, Loaner: v.Problem.Loaner}, nil)
}

func (h *house) workAgain(c echo.Context, in desk.WorkIn, err error) error {
	v, viewErr := h.askProblem(c)
	if viewErr != nil {
		return err
	}
	return h.workPage(c, v, in, err)
}

// seenAgain draws the form again where a lead did not say who has seen it.
func (h *house) seenAgain(c echo.Context, in desk.SeenIn, err error) error {
	v, viewErr := h.askProblem(c)
	if viewErr != nil {
		return err
	}
	if fieldError(err, "on_behalf_of") == "" {
		return h.problemPage(c, v, status(err), err)
	}
	return h.workPage(c, v, desk.WorkIn{ProblemIn: in.ProblemIn}, err)
}

func (h *house) workPage(c echo.Context, v *desk.ProblemView, in desk.WorkIn, err error) error {
	p := workPage{stepPage: h.stepPage(c, v, v.EngineeringWord(), "/work", err), In: in,
		Signer: signerOf(v, in.OnBehalfOf, err)}
	if v.Ref.Seen == "" && v.Problem.Stage == "" {
		p.Actions = append(p.Actions, Action{Text: "Has seen it", To: problemPath(v.Ref.ID) + "/seen"})
	}
	p.Actions = append(workStages(), p.Actions...)
	return h.render(c, code(err), "work", p)
}

func workStages() []Action {
	return []Action{{Text: "At work on it", Tone: "main", Name: "stage", Value: record.AtWork},
		{Text: "Vendor was called", Tone: "main", Name: "stage", Value: record.Vendor}}
}

func (h *house) handBackForm(c echo.Context) error {
	v, err := h.askProblem(c)
	if err != nil {
		return err
	}
	return h.handBackPage(c, v, desk.HandBackIn{Order: v.Problem.Order}, nil)
}

func (h *house) handBackAgain(c echo.Context, in desk.HandBackIn, err error) error {
	v, viewErr := h.askProblem(c)
	if viewErr != nil {
		return err
	}
	return h.handBackPage(c, v, in, err)
}

func (h *house) handBackPage(c echo.Context, v *desk.ProblemView, in desk.HandBackIn,
	err error) error {
	p := handBackPage{stepPage: h.stepPage(c, v, "Hand it back", "/hand-back", err), In: in,
		Signer: signerOf(v, in.OnBehalfOf, err)}
	p.choices(in)
	return h.render(c, code(err), "handback", p)
}

var (
	actionCodes = []string{"replaced", "adjusted", "cleaned", "nothing"}
	safetyCodes = []string{"ok", "not-needed"}
)

func (p *handBackPage) choices(in desk.HandBackIn) {
	p.Findings = chosen(choices(record.Findings(), capitals(findingWords)), in.Finding)
	p.Did = chosen(choices(actionCodes, capitals(actionWords)), in.Action)
	p.Safety = chosen(choices(safetyCodes, capitals(safetyWords)), in.Safety)
	p.Text = "Sterile processing makes the return checks; they bring the sealer back, not this form."
	p.Actions = []Action{{Text: "Hand it back", Tone: "main", Big: true}}
}
