package web

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

type problemsPage struct {
	Page
	V            *desk.ProblemsView
	Open, Closed []row
	Pager        *pager
}

// pager is a shape of static/templates/partials/lists.html.
type pager struct{ Text, Older, Newer string }

func (h *house) askProblems(c echo.Context) (*desk.ProblemsView, error) {
	before, _ := strconv.Atoi(c.QueryParam("before")) // anything else means: the newest
	return h.desk.Problems(caller(c), max(0, before))
}

func (h *house) drawProblems(c echo.Context, v *desk.ProblemsView) error {
	p := problemsPage{Page: h.page(c, &v.Frame, "Problems"), V: v}
	for _, n := range v.Open {
		p.Open = append(p.Open, problemRow(&v.Frame, n))
	}
	for _, n := range v.Closed {
		p.Closed = append(p.Closed, closedRow(&v.Frame, n))
	}
	if v.Older > 0 || v.Newer {
		p.Pager = &pager{}
		if n := len(v.Closed); n > 0 {
			p.Pager.Text = itoa(v.Closed[0].Problem.Number) + " to " + itoa(v.Closed[n-1].Problem.Number)
		}
		if v.Older > 0 {
			p.Pager.Older = "/problems?before=" + itoa(v.Older)
		}
		if v.Newer {
			p.Pager.Newer = "/problems"
		}
	}
	return h.render(c, http.StatusOK, "problems", p)
}

func closedRow(f *desk.Frame, n desk.ClosedRow) row {
	r := row{Text: "Problem " + itoa(n.Problem.Number), Href: problemPath(n.Problem.ID)}
	if n.Sealer != nil {
		r.Text += " · Sealer " + n.Sealer.Number
	}
	r.Note = sentences(listed(whatLine(n.Problem), f.Clock(n.Problem.At)),
		findingWords[n.Finding], "closed "+f.Clock(n.Closed)+by(n.By))
	return r
}
