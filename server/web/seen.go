package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

// seenPage is a problem for the bearer of a one-time link: no account, no
// photographs, no names of the department's people.
type seenPage struct {
	Page
	hidden
	V       *desk.LinkView
	To      string
	Summary *Summary
	Text    string
	Ask     bool // "I have seen it", with a name
	Signer  signer
	Facts   []fact
	Earlier []row
	Actions []Action
}

func linkPath(c echo.Context) string { return "/seen/" + c.Param("token") }

func (h *house) askLink(c echo.Context) (*desk.LinkView, error) {
	return h.desk.ByLinkView(caller(c))
}

func (h *house) drawLink(c echo.Context, v *desk.LinkView) error {
	return h.linkPage(c, v, v.Name, nil)
}

func (h *house) linkPage(c echo.Context, v *desk.LinkView, name string, err error) error {
	p := seenPage{Page: h.strangersPage(c, v, "Problem "+itoa(v.Number)), V: v, To: linkPath(c) + "/seen",
		hidden: formFor(&v.Frame, typedFrom(c), ""), Summary: summaryOf(err), Facts: linkFacts(v),
		Signer: signer{ByLink: true, Name: name, NameError: fieldError(err, "name")}}
	p.Sub = "sealer " + v.Facts.Number
	p.Ask = v.Seen == 0 && v.Out
	p.Text, p.Actions = linkNext(v, linkPath(c))
	for _, e := range v.Earlier {
		p.Earlier = append(p.Earlier, row{Text: listed("Problem "+itoa(e.Number), v.Clock(e.At)),
			Note: sentences(faultAt(e.Kind, e.Place, e.AtCM),
				listed(findingWords[e.Finding], actionWords[e.Action]))})
	}
	return h.render(c, code(err), "seen", p)
}

// strangersPage is a page for somebody who is not signed in.
func (h *house) strangersPage(c echo.Context, v *desk.LinkView, title string) Page {
	p := h.page(c, &v.Frame, title)
	p.Home = c.Request().URL.Path
	return p
}

// linkNext tells what can be done by link now.
func linkNext(v *desk.LinkView, path string) (string, []Action) {
	note := Action{Text: "Add a note or photograph", Href: path + "/note"}
	sheet := Action{Text: "Evidence sheet, to print", Href: path + "/evidence"}
	work := []Action{{Text: "Hand it back", Tone: "main", Big: true, Href: path + "/hand-back"},
		{Text: "At work, vendor, date, loaner", Href: path + "/work"}, note, sheet}
	switch {
	case v.Returned != 0:
		return "The sealer is back in service since " + v.Clock(v.Returned) + ".", nil
	case !v.Out:
		return "Nothing is to be done here now: sterile processing tests the sealer.", nil
	case v.Seen == 0:
		return "Looking here tells nobody. Say that you know:", []Action{
			{Text: "I have seen it", Tone: "main", Big: true}, note, sheet}
	case v.Stage == "":
		work[0], work[1] = Action{Text: "I am at work on it", Tone: "main", Big: true,
			Href: path + "/work"}, Action{Text: "Hand it back", Href: path + "/hand-back"}
		return "Seen " + v.Clock(v.Seen) + ". Isolate it from power before you open it.", work
	}
	return "Isolate it from power before you open it. Sterile processing makes the return checks.", work
}

func linkFacts(v *desk.LinkView) []fact {
	ref := desk.ProblemRef{What: v.What, Kind: v.Kind, Place: v.Place, AtCM: v.AtCM}
	tagged := "not yet"
	if v.Tagged != 0 {
		tagged = v.Clock(v.Tagged)
	}
	again := ""
	if v.Again {
		again = "the same place as within the last 30 days"
	}
	return known([]fact{
		{Term: "What", Text: capital(whatLine(&ref))},
		{Term: "Again", Text: again},
		{Term: "Since", Text: v.Clock(v.At)},
		{Term: "Sealer", Text: listed(v.Facts.Number, typeWords[v.Facts.Type])},
		{Term: "Asset tag", Text: v.Facts.Asset},
		{Term: "Serial", Text: listed(v.Facts.Serial, v.Facts.Model)},
		{Term: "Where", Text: listed(v.Facts.Place, v.Dept.Name)},
		{Term: "Approved setting", Text: listed(settingFact(v.Setting), v.PouchName)},
		{Term: "Tagged", Text: tagged},
		{Term: "Work order", Text: v.Order},
		{Term: "Vendor", Text: listed(v.Vendor, with("expected", dateText(v.Expected)))},
		{Term: "Loaner", Text: v.Loaner},
	})
}

// linkSeenAgain draws the page again, with the name that was typed.
func (h *house) linkSeenAgain(c echo.Context, in desk.SeenIn, err error) error {
	v, viewErr := h.askLink(c)
	if viewErr != nil {
		return err
	}
	return h.linkPage(c, v, in.Name, err)
}

func (h *house) linkWorkForm(c echo.Context) error {
	v, err := h.askLink(c)
	if err != nil {
		return err
	}
	return h.linkWorkPage(c, v, desk.WorkIn{Name: v.Name, Order: v.Order, Vendor: v.Vendor,
		Expected: v.Expected, Loaner: v.Loaner}, nil)
}

func (h *house) linkWorkAgain(c echo.Context, in desk.WorkIn, err error) error {
	v, viewErr := h.askLink(c)
	if viewErr != nil {
		return err
	}
	return h.linkWorkPage(c, v, in, err)
}

func (h *house) linkWorkPage(c echo.Context, v *desk.LinkView, in desk.WorkIn, err error) error {
	p := workPage{stepPage: h.linkStep(c, v, "At work", "/work", err), In: in,
		Signer: signer{ByLink: true, Name: in.Name, NameError: fieldError(err, "name")}}
	p.Actions = workStages()
	return h.render(c, code(err), "work", p)
}

// linkNotePage takes a note or a photograph by link.
type linkNotePage struct {
	stepPage
	Name, Note string
}

func (h *house) linkNoteForm(c echo.Context) error { return h.linkNotePage(c, nil) }

func (h *house) linkNotePage(c echo.Context, err error) error {
	v, viewErr := h.askLink(c)
	if viewErr != nil {
		return viewErr
	}
	p := linkNotePage{stepPage: h.linkStep(c, v, "Note or photograph", "/note", err),
		Name: orText(c.FormValue("name"), v.Name), Note: c.FormValue("note")}
	p.Actions = []Action{{Text: "Add it", Tone: "main", Big: true}}
	return h.render(c, code(err), "linknote", p)
}

// postLinkNote adds a note first and the photograph after it, which it never holds
// up. A photograph alone belongs to the problem.
func (h *house) postLinkNote(c echo.Context) error {
	var in desk.LinkNoteIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	photo, _ := photoBytes(c)
	if in.Note == "" && len(photo) > 0 {
		in.Note = "Photograph by " + in.Name
	}
	done, err := h.desk.NoteByLink(c.Request().Context(), caller(c), in)
	if err != nil {
		return h.linkNotePage(c, err)
	}
	to := linkPath(c) + "?said=saved"
	if note := h.photoOf(c, done.ID, done.ID.Derive("photograph"), in.Seen); note != "" {
		to += "&photo=" + note
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// linkStep begins the page of a step by link.
func (h *house) linkStep(c echo.Context, v *desk.LinkView, title, to string, err error) stepPage {
	p := stepPage{Page: h.strangersPage(c, v, title), To: linkPath(c) + to,
		hidden: formFor(&v.Frame, typedFrom(c), ""), Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub = "sealer " + v.Facts.Number + ", problem " + itoa(v.Number)
	p.Back = &Link{Href: linkPath(c), Text: "Problem " + itoa(v.Number)}
	return p
}

func (h *house) linkHandBackForm(c echo.Context) error {
	v, err := h.askLink(c)
	if err != nil {
		return err
	}
	return h.linkHandBackPage(c, v, desk.HandBackIn{Name: v.Name, Order: v.Order}, nil)
}

func (h *house) linkHandBackAgain(c echo.Context, in desk.HandBackIn, err error) error {
	v, viewErr := h.askLink(c)
	if viewErr != nil {
		return err
	}
	return h.linkHandBackPage(c, v, in, err)
}

func (h *house) linkHandBackPage(c echo.Context, v *desk.LinkView, in desk.HandBackIn, err error) error {
	p := handBackPage{stepPage: h.linkStep(c, v, "Hand it back", "/hand-back", err), In: in,
		Signer: signer{ByLink: true, Name: in.Name, NameError: fieldError(err, "name")}}
	p.choices(in)
	return h.render(c, code(err), "handback", p)
}

// linkStepped sends the browser back to the link, saying what was recorded.
func linkStepped[In any](said string) func(echo.Context, In, desk.Done) string {
	return func(c echo.Context, _ In, _ desk.Done) string { return linkPath(c) + "?said=" + said }
}

// linkEnded is where a hand-back by link leads: the link has ended with it.
func linkEnded(echo.Context, desk.HandBackIn, desk.Done) string { return "/seen?said=handed-back" }

// linkOver is the page of a link that has ended.
func (h *house) linkOver(c echo.Context) error {
	p := seenPage{Page: h.page(c, nil, "This link has ended"), Text: "A link ends when the sealer " +
		"is handed back, or after 14 days. The department can send a new one."}
	code := http.StatusOK
	if len(p.Messages) == 0 {
		code = http.StatusGone
	}
	return h.render(c, code, "seen", p)
}
