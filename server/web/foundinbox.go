package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// foundInboxPage lists what was found elsewhere and waits for somebody.
type foundInboxPage struct {
	Page
	Rows    []row
	Poster  bool
	CanEdit bool
}

func (h *house) askFoundInbox(c echo.Context) (*desk.FoundInboxView, error) {
	return h.desk.FoundInbox(caller(c))
}

func (h *house) drawFoundInbox(c echo.Context, v *desk.FoundInboxView) error {
	p := foundInboxPage{Page: h.page(c, &v.Frame, "Found elsewhere"), Poster: v.Poster, CanEdit: v.Can("ManagePoster")}
	for i := range v.Reports {
		p.Rows = append(p.Rows, foundRow(&v.Frame, &v.Reports[i]))
	}
	return h.render(c, http.StatusOK, "foundinbox", p)
}

// foundWaits tells how many reports nobody has taken.
func foundWaits(n int) string {
	if n == 1 {
		return "1 report, nobody has taken it yet"
	}
	return itoa(n) + " reports, nobody has taken them yet"
}

func foundRow(f *desk.Frame, r *desk.FoundRow) row {
	taken := "nobody has taken it yet"
	if r.TakenAt != 0 {
		taken = "taken by " + r.TakenBy + ", " + f.Clock(r.TakenAt)
	}
	return row{Text: listed(faultWords[r.Kind], with("sealer", strings.ToUpper(r.Number))), Href: "/found/" + r.Report.String(),
		Note: sentences(listed(f.Clock(r.At), placesElse[r.Where], usedFact(r.Used)), taken)}
}

func usedFact(used string) string {
	if used == "yes" {
		return "was used"
	}
	return ""
}

// foundReportPage is one report: what its finder wrote, and, once it is taken, the
// form of a bad seal filled in with it.
type foundReportPage struct {
	Page
	hidden
	V           *desk.FoundReportView
	Path        string
	Facts       []fact
	Photo       *picture
	Hints       []Callout
	Summary     *Summary
	Err         map[string]string
	In          desk.RecordFoundIn
	Kinds, More []choice
	Sealers     []option
	Pouches     []option
	Whose       []choice
	Found       []choice
	Why         string
	Take        []Action
	Record      []Action
	Decline     []Action
}

func (h *house) askFoundReport(c echo.Context) (*desk.FoundReportView, error) {
	report, err := reportID(c)
	if err != nil {
		return nil, err
	}
	return h.desk.FoundReport(caller(c), report)
}

func (h *house) drawFoundReport(c echo.Context, v *desk.FoundReportView) error {
	return h.foundReportPage(c, v, filledIn(v), nil)
}

// filledIn is the form as the report would have it.
func filledIn(v *desk.FoundReportView) (in desk.RecordFoundIn) {
	in.Kind, in.Load, in.Found = v.Kind, v.Load, v.Where
	if v.Whose == "maker" {
		in.Whose = "maker"
	}
	if v.Where != record.AtStore && v.Where != record.AtLoad {
		in.Found = record.AtTheatre
	}
	in.SealedAt = v.SealedOn.String()
	if v.SealedOn == 0 {
		in.SealedAt = ""
	}
	for _, p := range v.Proposed {
		if p.Here && in.Sealer == "" {
			in.Sealer = p.Code
		}
	}
	return in
}

func (h *house) foundReportPage(c echo.Context, v *desk.FoundReportView, in desk.RecordFoundIn, err error) error {
	p := foundReportPage{Page: h.page(c, &v.Frame, "Found elsewhere"), hidden: formOf(&v.Frame), V: v,
		Path: "/found/" + v.Report.String(), Facts: foundFacts(v), Summary: summaryOf(err), Err: fieldErrors(err), In: in,
		Hints: foundHints(v), Why: c.FormValue("why")}
	p.Sub, p.Back = "left "+v.Clock(v.At), &Link{Href: "/found", Text: "Inbox"}
	if v.Photo {
		p.Photo = &picture{Src: p.Path + "/photograph", Alt: "photograph by the finder"}
	}
	p.Kinds, p.More = faultChoices(in.Kind)
	p.Sealers = []option{{"", "Choose"}}
	for _, s := range v.Sealers {
		p.Sealers = append(p.Sealers, option{s.Code, "Sealer " + s.Text})
	}
	p.Pouches = []option{{record.ID{}.String(), "Not known"}}
	for _, o := range v.Pouches {
		p.Pouches = append(p.Pouches, option{o.ID.String(), o.Text})
	}
	p.Whose = []choice{{"", "Our seal", in.Whose != "maker"}, {"maker", "The maker's seal", in.Whose == "maker"}}
	p.Found = chosen(choices([]string{record.AtTheatre, record.AtStore, record.AtLoad}, placesElse), in.Found)
	p.Take = []Action{{Text: "I take it", Note: "others see that you have it", Tone: "main", Big: true}}
	if v.MayPass {
		p.Take = []Action{{Text: "Take it over", Name: "over", Value: "true"}}
	}
	p.Record = []Action{{Text: "Report the bad seal", Tone: "stop", Big: true}}
	p.Decline = []Action{{Text: "Not ours"}}
	return h.render(c, code(err), "foundreport", p)
}

func foundFacts(v *desk.FoundReportView) []fact {
	return known([]fact{
		{Term: "Seen", Text: faultWords[v.Kind]},
		{Term: "Whose seal", Text: whoseWords[v.Whose]},
		{Term: "Sealer on the pack", Text: v.Number},
		{Term: "Date on the pack", Text: dateText(v.SealedOn)},
		{Term: "Load", Text: v.Load},
		{Term: "Initials", Text: v.Initials},
		{Term: "Where", Text: placesElse[v.Where]},
		{Term: "Used", Text: usedWords[v.Used]},
		{Term: "To reach", Text: v.Reach},
		{Term: "Note", Text: v.Note},
		{Term: "Taken by", Text: listed(v.TakenBy, v.Clock(v.TakenAt))},
	})
}

// foundHints are what the numbers on the pack lead to.
func foundHints(v *desk.FoundReportView) (list []Callout) {
	if v.Used == "yes" {
		list = append(list, Callout{Tone: "out", Lead: "It was used.",
			Text: "Your policy for used items comes first: tell the lead now."})
	}
	switch {
	case v.Number == "":
		list = append(list, Callout{Tone: "due", Lead: "No sealer number.", Text: "Ask the finder to look on the film side, outside the seal."})
	case len(v.Proposed) == 0:
		list = append(list, Callout{Tone: "due", Lead: "No sealer had the number " + strings.ToUpper(v.Number) + " then.",
			Text: "Look at the pack again, or choose below."})
	}
	for _, p := range v.Proposed {
		hint := Callout{Lead: "Sealer " + p.Text + ".", Text: "It had this number on that day."}
		if p.Now != "" {
			hint.Text = "It had this number then; it is sealer " + p.Now + " now."
		}
		if !p.Here {
			hint.Tone, hint.Text = "due", "That is a sealer of "+p.Dept+": tell them, then say that it is not ours."
		}
		list = append(list, hint)
	}
	return list
}

func foundAgain[In any](h *house, typed func(In) desk.RecordFoundIn) func(echo.Context, In, error) error {
	return func(c echo.Context, in In, err error) error {
		v, viewErr := h.askFoundReport(c)
		if viewErr != nil {
			return err
		}
		form := filledIn(v)
		if typed != nil {
			form = typed(in)
		}
		return h.foundReportPage(c, v, form, err)
	}
}

func typedFound(in desk.RecordFoundIn) desk.RecordFoundIn { return in }

func afterTake(_ echo.Context, in desk.TakeFoundIn, _ desk.Done) string {
	return "/found/" + in.Report.String()
}

func afterFound(_ echo.Context, in desk.RecordFoundIn, out desk.Done) string {
	if !out.Problem.IsZero() {
		return problemPath(out.Problem) + "?said=from-elsewhere"
	}
	return "/S/" + in.Sealer + "?said=from-elsewhere"
}

func afterNotOurs(echo.Context, desk.NotOursIn, desk.Done) string { return "/found?said=saved" }
