package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// paperPage is something to print and hang up or keep at hand: a card, a tag, a
// form for when nothing works. What it says is what stood then; it is dated.
type paperPage struct {
	Page
	hidden
	V        *desk.SealerView
	Settings []*settingBlock
	Number   record.Seq // of the card: its newest decision, 0 without one
	OldCard  bool       // an older one may hang
	Made     string
	Symbol   labels.Drawing
	Clear    string
	Places   string
	Tests    []string
	Rows     []int
}

func (h *house) paper(c echo.Context, title string) (*paperPage, error) {
	v, err := h.askSealer(c)
	if err != nil {
		return nil, err
	}
	p := &paperPage{Page: h.page(c, &v.Frame, title), V: v, Made: v.In(v.Now).Format("2 January 2006"), Places: placesLine(v.Plan.Places),
		Rows: make([]int, 12)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	for i := range v.Pouches {
		if a := v.Pouches[i].Setting; a != nil {
			p.Number = max(p.Number, a.Approval)
			p.Settings = append(p.Settings, settingOf(v.SealerFacts, &v.Pouches[i], nil))
		}
	}
	p.hidden, p.OldCard = formOf(&v.Frame), v.Where.OldCard != 0 && v.Can("TakeCardDown")
	for _, t := range v.Plan.Tests {
		p.Tests = append(p.Tests, testWords[t])
	}
	url, err := labels.URL(h.public.Scheme+"://"+h.public.Host, labels.Code(v.Code))
	if err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "Labels cannot be made for this address.")
	}
	p.Clear = labels.Code(v.Code).Grouped()
	if p.Symbol, err = labels.Draw(url); err != nil {
		return nil, fault.Wrap(err, fault.Internal, "The symbol could not be drawn.")
	}
	return p, nil
}

func (h *house) card(c echo.Context) error { return h.drawPaper(c, "Card", "card") }
func (h *house) tag(c echo.Context) error  { return h.drawPaper(c, "Tag", "tag") }
func (h *house) sides(c echo.Context) error {
	return h.drawPaper(c, "Two-sided card", "sides")
}

func (h *house) downtime(c echo.Context) error {
	return h.drawPaper(c, "Form for downtime", "downtime")
}

func (h *house) drawPaper(c echo.Context, title, name string) error {
	p, err := h.paper(c, title)
	if err != nil {
		return err
	}
	return h.render(c, http.StatusOK, name, p)
}

// latePage takes a check that was written on paper.
type latePage struct {
	Page
	hidden
	V         *desk.SealerView
	In        desk.CheckIn
	Colleague []choice
	Outcomes  []choice
	Pouches   []choice
	Err       map[string]string
	Summary   *Summary
}

func (h *house) latePage(c echo.Context, v *desk.SealerView, code int, in desk.CheckIn, err error) error {
	p := latePage{Page: h.page(c, &v.Frame, "Enter from paper"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	names, _, _ := h.desk.Colleagues(device(c))
	p.Colleague = append(p.Colleague, choice{Value: "", Text: "I made it myself"})
	for _, n := range names {
		if n.ID != v.Person.ID {
			p.Colleague = append(p.Colleague, choice{Value: n.ID.String(), Text: n.Text})
		}
	}
	p.Outcomes = chosen([]choice{{Value: "pass", Text: "Pass"}, {Value: "fail", Text: "Fail"}, {Value: "not-valid", Text: "Test not valid"}}, string(in.Outcome))
	for _, here := range v.Pouches {
		if here.Setting != nil {
			p.Pouches = append(p.Pouches, choice{Value: here.ID.String(), Text: here.Name,
				Checked: here.ID == in.Pouch || in.Pouch.IsZero() && v.Pouch != nil && v.Pouch.ID == here.ID})
		}
	}
	return h.render(c, code, "late", p)
}

// postLate fills in what a paper form leaves out: the approval that stands, the
// plan's places, and for a test that is not valid that it could not be told.
func (h *house) postLate(c echo.Context) error {
	var in desk.CheckIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	v, err := h.desk.Sealer(caller(c), in.Code, in.Pouch)
	if err != nil {
		return err
	}
	in.Approval = record.None
	if v.Pouch != nil && v.Pouch.Setting != nil {
		in.Approval = v.Pouch.Setting.Approval
	}
	if in.Outcome == record.NotValid && in.Reason == "" {
		in.Reason = "unclear"
	}
	if in.Happened == "" {
		return h.latePage(c, v, http.StatusUnprocessableEntity, in, fault.Field("happened", "Type the date and time that stand on the form."))
	}
	done, err := h.desk.Check(c.Request().Context(), caller(c), in)
	if err != nil {
		return h.latePage(c, v, status(err), in, err)
	}
	return c.Redirect(http.StatusSeeOther, afterCheck(c, in, done))
}
