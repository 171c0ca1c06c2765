package web

import (
	"net"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type carePage struct {
	Page
	V       *desk.CareView
	Remove  hidden
	Clock   hidden
	Left    []choice
	Done    []row
	Entry   string
	Why     string
	Latest  string
	Err     map[string]string
	Summary *Summary
}

func (h *house) askCare(c echo.Context) (*desk.CareView, error) { return h.desk.Care(caller(c)) }

func (h *house) drawCare(c echo.Context, v *desk.CareView) error { return h.carePage(c, v, nil) }

func (h *house) carePage(c echo.Context, v *desk.CareView, err error) error {
	p := carePage{Page: h.page(c, &v.Frame, "Care of the records"), V: v, Err: fieldErrors(err), Summary: summaryOf(err),
		Entry: c.FormValue("entry"), Why: c.FormValue("why"), Latest: v.Latest.String()}
	p.Remove, p.Clock = formFor(&v.Frame, typedFrom(c), ""), formFor(&v.Frame, desk.From{}, "clock")
	for _, person := range v.Left {
		p.Left = append(p.Left, choice{Value: person.Code, Text: person.Text})
	}
	p.Left = chosen(p.Left, c.FormValue("person"))
	for _, d := range v.Done {
		p.Done = append(p.Done, row{Text: dateText(d.On) + ": " + recordsText(d.Records), Note: sentences(d.Why, d.Who)})
	}
	return h.render(c, code(err), "care", p)
}

func recordsText(seqs []record.Seq) string {
	if len(seqs) == 1 {
		return "record " + strconv.FormatInt(int64(seqs[0]), 10)
	}
	return itoa(len(seqs)) + " records"
}

func afterCare[In any](said string) func(echo.Context, In, desk.Done) string {
	return func(echo.Context, In, desk.Done) string { return "/care?said=" + said }
}

func careAgain[In any](h *house) func(echo.Context, In, error) error {
	return func(c echo.Context, _ In, err error) error {
		v, viewErr := h.askCare(c)
		if viewErr != nil {
			return err
		}
		return h.carePage(c, v, err)
	}
}

// showMetrics answers programs on this machine, and administrators who are signed
// in. It names no person, sealer or pouch, but nobody else needs it.
func (h *house) showMetrics(c echo.Context) error {
	if h.metrics == nil {
		return fault.New(fault.Unknown, "There is no such page.")
	}
	if !here(c) {
		if _, err := h.desk.Care(caller(c)); err != nil {
			return err
		}
	}
	c.Response().Header().Set(echo.HeaderContentType, "text/plain; version=0.0.4; charset=utf-8")
	c.Response().WriteHeader(http.StatusOK)
	h.metrics(c.Response())
	return nil
}

// here reports whether a request comes from this machine itself and not through a
// proxy on it.
func here(c echo.Context) bool {
	host, _, err := net.SplitHostPort(c.Request().RemoteAddr)
	ip := net.ParseIP(host)
	return err == nil && ip.IsLoopback() && c.Request().Header.Get(echo.HeaderXForwardedFor) == "" && c.Request().Header.Get("Forwarded") == ""
}
