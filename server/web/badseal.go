package web

import (
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type badSealPage struct {
	Page
	hidden
	V           *desk.SealerView
	In          desk.BadSealIn
	Kinds, More []choice
	KindError   string
	Whose       []choice
	Found       []choice
	Pouches     []choice
	Summary     *Summary
	LotError    string
	SealedError string
	Unknown     bool // the pack does not say when it was sealed
	PhotoError  string
	Actions     []Action
}

func (h *house) badSealForm(c echo.Context) error {
	v, err := h.askSealer(c)
	if err != nil {
		return err
	}
	return h.badSealPage(c, v, http.StatusOK, desk.BadSealIn{}, nil)
}

func (h *house) badSealPage(c echo.Context, v *desk.SealerView, status int, in desk.BadSealIn, err error) error {
	p := badSealPage{Page: h.page(c, &v.Frame, "A bad seal"), hidden: formOf(&v.Frame), V: v, In: in, KindError: fieldError(err, "kind"),
		LotError: fieldError(err, "lot"), SealedError: fieldError(err, "sealed_at"), Summary: summaryOf(err)}
	if !in.ID.IsZero() {
		p.hidden = hidden{ID: in.ID, Seen: in.Seen}
	}
	p.Back = &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	p.Kinds, p.More = faultChoices(in.Kind)
	p.Whose = []choice{{"", "Our seal", in.Whose != "maker"}, {"maker", "The maker's seal", in.Whose == "maker"}}
	p.Found = []choice{{record.AtBench, "At the bench, just now", in.Found == "" || in.Found == record.AtBench}, {record.AtLoad, "In a load", in.Found == record.AtLoad},
		{record.AtStore, "In store", in.Found == record.AtStore}, {record.AtTheatre, "In the operating room", in.Found == record.AtTheatre}}
	for _, here := range v.Pouches {
		chosen := here.ID == in.Pouch || in.Pouch.IsZero() && v.Pouch != nil && v.Pouch.ID == here.ID
		p.Pouches = append(p.Pouches, choice{here.ID.String(), here.Name, chosen})
	}
	p.Unknown = c.FormValue("sealed_unknown") != ""
	p.Actions = []Action{{Text: "Report the bad seal", Tone: "stop", Big: true}}
	return h.render(c, status, "badseal", p)
}

// postBadSeal records the report first and its photograph after it: a photograph
// that cannot be taken never holds a report up.
func (h *house) postBadSeal(c echo.Context) error {
	var in desk.BadSealIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	err := sealedAsked(c, in)
	var done desk.Done
	if err == nil {
		done, err = h.desk.ReportBadSeal(c.Request().Context(), caller(c), in)
	}
	if err != nil {
		v, viewErr := h.desk.Sealer(caller(c), in.Code, in.Pouch)
		if viewErr != nil || fault.Is(err, fault.SignIn) {
			return err
		}
		return h.badSealPage(c, v, statusOf[fault.CodeOf(err)], in, err)
	}
	to := "/S/" + in.Code + "?said=bad-seal"
	if !done.Problem.IsZero() {
		to = "/problems/" + done.Problem.String() + "?said=bad-seal"
	}
	if note := h.photoOf(c, done.ID, done.ID.Derive("photograph"), in.Seen); note != "" {
		to += "&photo=" + note
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// sealedAsked asks once when a pack that was found elsewhere was sealed: the hold
// hangs on that. Without an answer it reaches as far back as it may have to.
func sealedAsked(c echo.Context, in desk.BadSealIn) error {
	elsewhere := in.Found != "" && in.Found != record.AtBench
	if !elsewhere || in.SealedAt != "" || in.Whose == "maker" || c.FormValue("sealed_unknown") != "" {
		return nil
	}
	return fault.Field("sealed_at", "Type the date that is on the pack, or tick that it is not on it: "+
		"then every pack that may have it is held.")
}

// photoOf takes the photograph of a form, if there is one, and tells in a word
// what became of it.
func (h *house) photoOf(c echo.Context, of, id record.ID, seen int64) string {
	b, err := photoBytes(c)
	if err != nil {
		return "unread"
	}
	if len(b) == 0 {
		return ""
	}
	done, err := h.desk.AddPhotograph(c.Request().Context(), caller(c), desk.PhotoIn{
		From: desk.From{ID: id, Seen: seen}, Of: of, Bytes: b})
	switch {
	case err != nil:
		h.log.Warn("photograph refused", "error", err)
		return string(fault.CodeOf(err))
	case done.Blurred:
		return "blurred"
	}
	return "kept"
}

// photoBytes reads the first photograph that was chosen; two inputs share the
// name.
func photoBytes(c echo.Context) ([]byte, error) {
	form, err := c.MultipartForm()
	if err != nil {
		return nil, nil // a form without a file part
	}
	for _, part := range form.File["photo"] {
		if part.Size == 0 {
			continue
		}
		f, err := part.Open()
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(f)
	}
	return nil, nil
}

// photograph serves a photograph by the record that names it.
func (h *house) photograph(c echo.Context) error {
	id, err := record.ParseID(c.Param("id"))
	if err != nil {
		return fault.New(fault.Unknown, "There is no such photograph here.")
	}
	b, err := h.desk.Photograph(caller(c), id)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	return c.Blob(http.StatusOK, "image/jpeg", b)
}
