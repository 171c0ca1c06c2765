package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type sealersPage struct {
	Page
	Rows, Gone []row
	CanAdd     bool
}

func (h *house) askSealers(c echo.Context) (*desk.SealersView, error) {
	return h.desk.Sealers(caller(c))
}

func (h *house) drawSealers(c echo.Context, v *desk.SealersView) error {
	p := sealersPage{Page: h.page(c, &v.Frame, "Sealers"), CanAdd: v.Can("AddSealer")}
	for i := range v.Sealers {
		s := &v.Sealers[i]
		r := row{Text: "Sealer " + s.Number, Href: "/S/" + s.Code + "/facts",
			Note: listed(typeWords[s.Type], s.Place, with("asset", s.Asset), unlessFalse(s.Loaner,
				"loaner"))}
		if s.Standing.State == record.Retired {
			p.Gone = append(p.Gone, r)
			continue
		}
		if s.Approved == 0 {
			r.Note = sentences(r.Note, "no approved setting")
		}
		r.Band = bandOf(&v.Frame, s.Standing)
		r.Band.Word, r.Band.Note, r.Band.Size = shortWord(r.Band.Word), "", "row"
		p.Rows = append(p.Rows, r)
	}
	return h.render(c, http.StatusOK, "sealers", p)
}

type sealerForm struct {
	Page
	hidden
	In       desk.SealerIn
	Width    string // as typed
	Action   string
	New      bool
	Types    []choice // nil where the type cannot change any more
	MoreOpen bool
	Err      map[string]string
	Summary  *Summary
}

var sealerTypes = []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse,
	record.Continuous}

// controlWords tell the types of sealers apart by what a hand finds on them.
var controlWords = map[record.SealerType]string{
	record.BarDial:    "A bar that stays hot, with a dial or switch",
	record.BarDisplay: "A bar that stays hot, with a temperature display",
	record.Impulse:    "A bar that heats for each seal (impulse), with a timer",
	record.Continuous: "The pouch runs through (continuous-feed)",
}

func (h *house) newSealer(c echo.Context) error {
	return h.newSealerForm(c, http.StatusOK, desk.SealerIn{}, nil)
}

func (h *house) newSealerAgain(c echo.Context, in desk.SealerIn, err error) error {
	return h.newSealerForm(c, status(err), in, err)
}

// newSealerForm asks for a sealer: its number and how it is set are enough to
// begin.
func (h *house) newSealerForm(c echo.Context, code int, in desk.SealerIn, err error) error {
	v, viewErr := h.desk.Sealers(caller(c))
	if viewErr != nil {
		return viewErr
	}
	p := sealerForm{Page: h.page(c, &v.Frame, "New sealer"), hidden: formFor(&v.Frame, in.From, ""),
		In: in, New: true,
		Action: "/sealers", Width: c.FormValue("width_cm"), Types: chosen(choices(sealerTypes,
			controlWords), string(in.Type)),
		Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Back, p.MoreOpen = &Link{Href: "/sealers", Text: "Sealers"}, len(p.Err) > 0
	return h.render(c, code, "sealerform", p)
}

// afterSealer goes on to the approved setting: without one a sealer is nothing.
func afterSealer(_ echo.Context, _ desk.SealerIn, done desk.Done) string {
	return "/S/" + done.Code + "/approve?said=saved"
}
