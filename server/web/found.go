package web

import (
	"bytes"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// foundPage is for whoever finds a bad pack outside the department: no account,
// half a minute.
type foundPage struct {
	Page
	ID                    record.ID
	To                    string
	In                    desk.FoundIn
	Kinds, More           []choice
	Whose, Where, WasUsed []choice
	Err                   map[string]string
	Summary               *Summary
	Done                  bool
	At                    string
	Actions               []Action
}

var (
	whoseWords = map[string]string{"department": "The one we made here", "maker": "The pouch maker's", "unknown": "Don't know"}
	placesElse = map[string]string{record.AtTheatre: "Operating room", record.AtStore: "Storage", "ward": "Ward or clinic",
		record.AtLoad: "Sterile processing"}
	usedWords = map[string]string{"no": "Not used", "yes": "It was used", "unknown": "Don't know"}
)

func (h *house) foundForm(c echo.Context) error {
	return h.foundPage(c, http.StatusOK, desk.FoundIn{}, nil)
}

func (h *house) foundPage(c echo.Context, code int, in desk.FoundIn, err error) error {
	place, unknown := h.desk.PosterOf(c.Param("poster"))
	if unknown != nil {
		return unknown
	}
	p := foundPage{Page: h.page(c, nil, "A bad pack"), ID: in.ID, To: c.Request().URL.Path, In: in,
		Err: fieldErrors(err), Summary: summaryOf(err)}
	if p.ID.IsZero() {
		p.ID = h.desk.NewID()
	}
	p.Place, p.Home = place, p.To
	p.Kinds, p.More = faultChoices(in.Kind)
	p.Whose = chosen(choices(desk.FoundWhose(), whoseWords), in.Whose)
	p.Where = chosen(choices(desk.FoundWhere(), placesElse), in.Where)
	p.WasUsed = chosen(choices(desk.FoundUsed(), usedWords), in.Used)
	p.Actions = []Action{{Text: "Tell sterile processing", Tone: "main", Big: true}}
	return h.render(c, code, "found", p)
}

func (h *house) postFound(c echo.Context) error {
	var in desk.FoundIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	photo, err := photoBytes(c)
	if err == nil {
		in.Photo = photo
	}
	done, err := h.desk.Found(c.Request().Context(), in)
	switch {
	case fault.Is(err, fault.Unknown):
		return err
	case err != nil:
		return h.foundPage(c, status(err), in, err)
	}
	to := c.Request().URL.Path + "/thanks"
	if done.Photo != "" {
		to += "?photo=" + done.Photo
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// foundThanks says what to do with the pack now. It tells nothing of the report:
// whoever has the address may open it.
func (h *house) foundThanks(c echo.Context) error {
	place, err := h.desk.PosterOf(c.Param("poster"))
	if err != nil {
		return err
	}
	p := foundPage{Page: h.page(c, nil, "Thank you"), Done: true}
	p.Place, p.Home = place, "/F/"+c.Param("poster")
	p.Actions = []Action{{Text: "Report another one", Href: p.Home}}
	return h.render(c, http.StatusOK, "found", p)
}

// foundByProgram is the twin of the form for programs, such as a hospital's own
// reporting. It needs the code of a poster and no session.
func (h *house) foundByProgram(c echo.Context, in desk.FoundIn) (desk.FoundDone, error) {
	return h.desk.Found(c.Request().Context(), in)
}

type posterPage struct {
	Page
	hidden
	V      *desk.PosterView
	Symbol labels.Drawing
	Clear  string
	Sheets []choice
}

func (h *house) askPoster(c echo.Context) (*desk.PosterView, error) { return h.desk.Poster(caller(c)) }

func (h *house) drawPoster(c echo.Context, v *desk.PosterView) error {
	p := posterPage{Page: h.page(c, &v.Frame, "Poster for bad packs"), hidden: formOf(&v.Frame), V: v,
		Clear: labels.Code(v.Code).Grouped()}
	for _, s := range labels.PosterSheets {
		p.Sheets = append(p.Sheets, choice{Value: s.ID, Text: s.String()})
	}
	if v.URL != "" {
		var err error
		if p.Symbol, err = labels.Draw(v.URL); err != nil {
			return fault.Wrap(err, fault.Internal, "The symbol could not be drawn.")
		}
	}
	return h.render(c, http.StatusOK, "poster", p)
}

func afterPoster(echo.Context, desk.From, desk.Done) string { return "/poster?said=poster" }

// printPoster answers a sheet of cards as a PDF.
func (h *house) printPoster(c echo.Context) error {
	v, err := h.askPoster(c)
	if err != nil {
		return err
	}
	if v.URL == "" {
		return fault.New(fault.Unknown, "There is no poster yet. Make it first.")
	}
	sheet, ok := labels.FindSheet(c.QueryParam("sheet"))
	if !ok {
		sheet = labels.PosterSheets[0]
	}
	cards := make([]labels.Label, sheet.PerPage())
	for i := range cards {
		cards[i] = labels.FoundCard(v.URL)
		cards[i].Clear = labels.Code(v.Code).Grouped()
	}
	var b bytes.Buffer
	if err := labels.PDF(&b, sheet, cards, labels.Options{Made: h.desk.Now(), CutMarks: true}); err != nil {
		return fault.Wrap(err, fault.Invalid, "These cards cannot be printed on this sheet: %s.", err)
	}
	return download(c, "application/pdf", "bad-pack-cards.pdf", b.Bytes())
}

// foundPhotograph serves the photograph of a report in the inbox.
func (h *house) foundPhotograph(c echo.Context) error {
	report, err := reportID(c)
	if err != nil {
		return err
	}
	b, err := h.desk.FoundPhotograph(caller(c), report)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	return c.Blob(http.StatusOK, "image/jpeg", b)
}

func reportID(c echo.Context) (record.ID, error) {
	id, err := record.ParseID(c.Param("report"))
	if err != nil {
		return id, fault.New(fault.Unknown, "There is no such report here.")
	}
	return id, nil
}
