package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type pouchForm struct {
	Page
	hidden
	In        desk.PouchIn
	Action    string
	Revise    bool
	Sealers   string // with an approval that may end
	Materials []choice
	Processes []choice
	MoreOpen  bool
	Err       map[string]string
	Summary   *Summary
}

var materials = []record.Material{record.PaperFilm, record.Nonwoven, record.Gusseted}

// processes are how pouches are sterilized, in the order of a form.
var processes = []string{"steam", "hydrogen peroxide", "ethylene oxide", "formaldehyde"}

func (h *house) newPouch(c echo.Context) error {
	return h.pouchForm(c, http.StatusOK, desk.PouchIn{}, nil)
}

func (h *house) newPouchAgain(c echo.Context, in desk.PouchIn, err error) error {
	return h.pouchForm(c, status(err), in, err)
}

// pouchForm asks for a new pouch: its name, what it is made of and its IFU are
// enough to begin.
func (h *house) pouchForm(c echo.Context, code int, in desk.PouchIn, err error) error {
	v, viewErr := h.desk.Pouches(caller(c))
	if viewErr != nil {
		return viewErr
	}
	p := h.pouchFields(c, &v.Frame, "New pouch", in, err)
	p.Action, p.Back = "/pouches", &Link{Href: "/pouches", Text: "Pouches"}
	return h.render(c, code, "pouchform", p)
}

func (h *house) revisePouch(c echo.Context) error {
	v, err := h.askPouch(c)
	if err != nil {
		return err
	}
	return h.reviseForm(c, http.StatusOK, v, desk.PouchIn{Name: v.Name, Material: v.Material,
		Low: v.Low, High: v.High,
		Dwell: v.Dwell, Pressure: v.Pressure, SealWidth: v.SealWidth, MinStrength: v.MinStrength,
		Processes: v.Processes,
		IFUIn:     ifuOf(v.IFU), Retired: v.Retired}, nil)
}

func (h *house) reviseAgain(c echo.Context, in desk.PouchIn, err error) error {
	v, viewErr := h.askPouch(c)
	if viewErr != nil {
		return err
	}
	return h.reviseForm(c, status(err), v, in, err)
}

func (h *house) reviseForm(c echo.Context, code int, v *desk.PouchView, in desk.PouchIn,
	err error) error {
	p := h.pouchFields(c, &v.Frame, "Revise "+v.Name, in, err)
	p.Revise, p.Action = true, "/pouches/"+v.ID.String()
	p.Back = &Link{Href: p.Action, Text: v.Name}
	if len(v.Sealers) > 0 {
		p.Sealers = refsLine(v.Sealers)
	}
	return h.render(c, code, "pouchform", p)
}

func (h *house) pouchFields(c echo.Context, f *desk.Frame, title string, in desk.PouchIn,
	err error) pouchForm {
	p := pouchForm{Page: h.page(c, f, title), hidden: formFor(f, in.From, ""), In: in,
		Err:     fieldErrors(err),
		Summary: summaryOf(err), Materials: chosen(choices(materials, materialWords),
			string(in.Material))}
	for _, name := range processes {
		p.Processes = append(p.Processes, choice{Value: name, Text: name})
	}
	p.Processes = chosen(p.Processes, in.Processes...)
	p.MoreOpen = in.Low != "" || in.High != "" || in.Dwell != "" || in.SealWidth != "" ||
		in.MinStrength != "" || in.Pressure != ""
	return p
}

func ifuOf(d record.Document) desk.IFUIn {
	return desk.IFUIn{Title: d.Title, Revision: d.Revision, Page: d.Page, Date: d.Date}
}

func afterPouch(_ echo.Context, in desk.PouchIn, done desk.Done) string {
	if in.Pouch.IsZero() {
		return "/set-up?said=saved"
	}
	return "/pouches/" + done.Subject.String() + "?said=saved"
}
