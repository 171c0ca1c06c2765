package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// morePage is everything else that happens to a sealer: a changeover, something
// that was done to it, packs that were sealed, a day without use.
type morePage struct {
	Page
	V         *desk.SealerView
	First     *Callout // a check that the plan asks for before
	Others    []changeTo
	Change    hidden
	Whats     []choice
	Disturb   hidden
	Packs     *packsForm
	NotUsed   hidden
	Today     string
	Places    []Link
	Summary   *Summary
	Err       map[string]string
	CanChange bool
	Room      string // where it stands, if somewhere
}

// changeTo is a pouch to change over to.
type changeTo struct {
	ID   record.ID
	Text string
	Note string
}

type packsForm struct {
	hidden
	Pouches []choice
	Count   string
	Load    string
}

var disturbanceWords = map[string]string{
	record.PowerOff: "Power was off", record.KnobMoved: "Knob found moved", record.Element: "Element changed",
	record.Cover: "Cover changed", record.Pad: "Pad changed", record.Controller: "Controller changed",
	record.Moved: "Moved", record.Cleaned: "Cleaned", record.Other: "Something else",
}

func (h *house) more(c echo.Context) error {
	v, err := h.askSealer(c)
	if err != nil {
		return err
	}
	return h.morePage(c, http.StatusOK, v, nil)
}

// moreAgain draws the page again after one of its forms was not taken.
func moreAgain[In any](h *house) func(echo.Context, In, error) error {
	return func(c echo.Context, _ In, err error) error {
		v, viewErr := h.askSealer(c)
		if viewErr != nil {
			return err
		}
		return h.morePage(c, status(err), v, err)
	}
}

func (h *house) morePage(c echo.Context, code int, v *desk.SealerView, err error) error {
	p := morePage{Page: h.page(c, &v.Frame, "Something else"), V: v, Summary: summaryOf(err), Err: fieldErrors(err),
		Change: formFor(&v.Frame, desk.From{}, "changeover"), Disturb: formFor(&v.Frame, desk.From{}, "disturbance"),
		NotUsed: formFor(&v.Frame, desk.From{}, "not-used"), Today: v.Day.String(), CanChange: v.Can("Changeover"), Room: v.SealerFacts.Place}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	for _, here := range v.Pouches {
		if here.Setting != nil && len(v.Pouches) > 1 && !(here.Ready || v.Standing.State == record.NotReady && v.Standing.Pouch == here.ID) {
			p.Others = append(p.Others, changeTo{ID: here.ID, Text: "Change over to " + here.Name,
				Note: "then wait until it has settled; a check follows"})
		}
	}
	if len(p.Others) > 0 && v.Plan.Changeover && mayCheckMore(v) {
		first := beforeChange(v)
		p.First = &first
	}
	for _, what := range record.Disturbances() {
		p.Whats = append(p.Whats, choice{Value: what, Text: disturbanceWords[what]})
	}
	if v.Dept.PackLog && v.Can("LogPacks") {
		p.Packs = packsOf(c, v)
	}
	p.Places = morePlaces(v)
	return h.render(c, code, "more", p)
}

func packsOf(c echo.Context, v *desk.SealerView) *packsForm {
	form := &packsForm{hidden: formFor(&v.Frame, desk.From{}, "packs"), Count: c.FormValue("count"), Load: c.FormValue("load")}
	for _, here := range v.Pouches {
		chosen := v.Pouch != nil && v.Pouch.ID == here.ID
		form.Pouches = append(form.Pouches, choice{Value: here.ID.String(), Text: here.Name, Checked: chosen})
	}
	return form
}

func morePlaces(v *desk.SealerView) []Link {
	base, settings := "/S/"+v.Code, 0
	for _, here := range v.Pouches {
		if here.Setting != nil {
			settings++
		}
	}
	links := []Link{{Href: base + "/history", Text: "Records of this sealer"}, {Href: base + "/facts", Text: "Facts and approved settings"},
		{Href: base + "/card", Text: "Card to hang beside it"}}
	if settings > 1 {
		links = append(links, Link{Href: base + "/sides", Text: "Two-sided card for two pouches"})
	}
	links = append(links, Link{Href: base + "/downtime", Text: "Form for when nothing works"})
	if v.Can("Where") {
		links = append(links, Link{Href: base + "/where", Text: "Where and why it failed"})
	}
	if v.Can("OpenBox") {
		links = append(links, Link{Href: "/boxes", Text: "A new box was opened"})
	}
	if v.Can("Check") {
		links = append(links, Link{Href: base + "/late", Text: "Enter a check from paper"})
	}
	return links
}

// afterMore sends the browser back to the sealer.
func afterMore[In any](said string, code func(In) string) func(echo.Context, In, desk.Done) string {
	return func(c echo.Context, in In, out desk.Done) string {
		to := "/S/" + code(in) + "?said=" + said
		if out.Nothing != "" {
			to += "&nothing=" + out.Nothing
		}
		if said == "packs" && !out.Problem.IsZero() {
			return problemPath(out.Problem) + "?said=unready"
		}
		return to
	}
}

// afterDisturb goes back to the sealer it was about, or to the board.
func afterDisturb(c echo.Context, in desk.DisturbIn, out desk.Done) string {
	if in.All || in.Room || in.Code == "" {
		return "/?said=disturbed"
	}
	return afterMore("disturbed", func(in desk.DisturbIn) string { return in.Code })(c, in, out)
}

// afterNotUsed goes to where days without use are seen.
func afterNotUsed(_ echo.Context, in desk.NotUsedIn, _ desk.Done) string {
	if len(in.Codes) == 1 {
		return "/S/" + in.Codes[0] + "?said=not-used"
	}
	return "/hand-over?said=not-used"
}

// outPage asks before a person is signed out: a page that is only looked at
// changes nothing.
func (h *house) outPage(c echo.Context) error {
	f, err := h.desk.Blank(caller(c))
	if err != nil {
		return err
	}
	return h.render(c, http.StatusOK, "signout", struct {
		Page
		Name string
	}{h.page(c, &f, "Sign out"), strings.TrimSpace(f.Who)})
}
