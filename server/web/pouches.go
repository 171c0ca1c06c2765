package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type pouchesPage struct {
	Page
	Rows, Gone []row
	CanAdd     bool
}

func (h *house) askPouches(c echo.Context) (*desk.PouchesView, error) {
	return h.desk.Pouches(caller(c))
}

func (h *house) drawPouches(c echo.Context, v *desk.PouchesView) error {
	p := pouchesPage{Page: h.page(c, &v.Frame, "Pouches"), CanAdd: v.Can("AddPouch")}
	for i := range v.Pouches {
		o := &v.Pouches[i]
		r := row{Text: o.Name, Href: "/pouches/" + o.ID.String(),
			Note: listed(materialWords[o.Material], approvedOn(o.Sealers))}
		for _, lot := range o.Held {
			r.Note = sentences(r.Note, "lot "+lot.Lot+" on hold")
		}
		if o.Retired {
			p.Gone = append(p.Gone, r)
		} else {
			p.Rows = append(p.Rows, r)
		}
	}
	return h.render(c, http.StatusOK, "pouches", p)
}

func approvedOn(sealers []desk.Ref) string {
	if len(sealers) == 0 {
		return "no approved setting yet"
	}
	return "approved on " + refsLine(sealers)
}

func refsLine(sealers []desk.Ref) string {
	var numbers []string
	for _, s := range sealers {
		numbers = append(numbers, s.Text)
	}
	return sealersLine(numbers)
}

type pouchPage struct {
	Page
	hidden
	V       *desk.PouchView
	In      desk.ReleaseIn
	Facts   []fact
	Lots    []row    // on hold
	Which   []choice // of them is released
	CanEdit bool
	Err     map[string]string
	Summary *Summary
}

// fact is a name and a value: see static/templates/partials/lists.html.
type fact struct{ Term, Text, Href string }

// askPouch reads the pouch from the address.
func (h *house) askPouch(c echo.Context) (*desk.PouchView, error) {
	id, err := record.ParseID(c.Param("pouch"))
	if err != nil {
		return nil, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	return h.desk.Pouch(caller(c), id)
}

func (h *house) drawPouch(c echo.Context, v *desk.PouchView) error {
	return h.pouchPage(c, http.StatusOK, v, desk.ReleaseIn{}, nil)
}

// releaseAgain draws the pouch after a release that was not taken.
func (h *house) releaseAgain(c echo.Context, in desk.ReleaseIn, err error) error {
	v, viewErr := h.askPouch(c)
	if viewErr != nil {
		return err
	}
	return h.pouchPage(c, status(err), v, in, err)
}

func (h *house) pouchPage(c echo.Context, code int, v *desk.PouchView, in desk.ReleaseIn,
	err error) error {
	p := pouchPage{Page: h.page(c, &v.Frame, v.Name), hidden: formFor(&v.Frame, in.From, ""), V: v,
		In:    in,
		Facts: pouchFacts(v), CanEdit: v.Can("RevisePouch"), Err: fieldErrors(err),
		Summary: summaryOf(err)}
	p.Sub, p.Back = materialWords[v.Material], &Link{Href: "/pouches", Text: "Pouches"}
	for _, lot := range v.Held {
		r := row{Text: "Do not use lot " + lot.Lot, Note: sentences("since "+v.Clock(lot.Since),
			lotWhy(lot.Why))}
		if !lot.Problem.IsZero() {
			r.Href = "/problems/" + lot.Problem.String()
		}
		p.Lots = append(p.Lots, r)
		p.Which = append(p.Which, choice{lot.Lot, "Lot " + lot.Lot, lot.Lot == in.Lot ||
			len(v.Held) == 1})
	}
	return h.render(c, code, "pouch", p)
}

func pouchFacts(v *desk.PouchView) []fact {
	window := ""
	if v.Low != "" {
		window = v.Low + " to " + v.High
	}
	var list []fact
	for _, f := range []fact{{Term: "IFU", Text: documentText(v.IFU)}, {Term: "Sealing temperature",
		Text: window},
		{Term: "Dwell", Text: v.Dwell}, {Term: "Pressure", Text: v.Pressure}, {Term: "Seal width",
			Text: v.SealWidth},
		{Term: "Least seal strength", Text: v.MinStrength}, {Term: "For",
			Text: strings.Join(v.Processes, ", ")}} {
		if f.Text != "" {
			list = append(list, f)
		}
	}
	return list
}

func afterRelease(_ echo.Context, in desk.ReleaseIn, _ desk.Done) string {
	return "/pouches/" + in.Pouch.String() + "?said=released"
}
