package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// holdPage is the hold list of a problem: on the screen to work through it, on
// paper to walk with it.
type holdPage struct {
	Page
	hidden
	V        *desk.HoldSheet
	Lead     string
	Window   []string // in words, one line after the other
	Callouts []Callout
	Order    []step // where to look, and whom to tell
	List     *table
	Ends     *table
	Settle   *settleForm
	Links    []Action
	Summary  *Summary
	Err      map[string]string
}

// settleForm says what became of packs.
type settleForm struct {
	To            string
	Entries       []choice
	All           string // the words of the box for all that are left
	AllTicked     bool
	Count, Reason string
	Where, End    []choice
	Actions       []Action
}

func (h *house) askHold(c echo.Context) (*desk.HoldSheet, error) {
	id, err := problemID(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Hold(caller(c), id)
}

func (h *house) drawHold(c echo.Context, v *desk.HoldSheet) error {
	return h.holdPage(c, v, http.StatusOK, desk.SettleIn{}, nil)
}

func (h *house) holdAgain(c echo.Context, in desk.SettleIn, err error) error {
	v, viewErr := h.askHold(c)
	if viewErr != nil {
		return err
	}
	return h.holdPage(c, v, status(err), in, err)
}

func (h *house) holdPage(c echo.Context, v *desk.HoldSheet, code int, in desk.SettleIn,
	err error) error {
	p := holdPage{Page: h.page(c, &v.Frame, "Hold list"), hidden: formFor(&v.Frame, in.From, ""),
		V: v, Summary: summaryOf(err), Err: fieldErrors(err)}
	p.Sub = "problem " + itoa(v.Ref.Number) + ", sealer " + v.Facts.Number
	p.Back = &Link{Href: problemPath(v.Ref.ID), Text: "Problem " + itoa(v.Ref.Number)}
	p.Lead, p.Window = holdLead(&v.ProblemView), windowLines(&v.ProblemView)
	p.Callouts, p.Order = holdCallouts(v), searchOrder(&v.HoldList)
	p.List, p.Ends = packTable(&v.ProblemView), endTable(&v.ProblemView)
	if v.Problem.SettledAt == 0 && v.Problem.Closed == 0 {
		p.Settle, p.Links = settleFormOf(&v.ProblemView, in), holdLinks(v)
	}
	return h.render(c, code, "hold", p)
}

// holdLead is the page in one line. It is always "at least": a pack that nobody
// logged is on no list.
func holdLead(v *desk.ProblemView) string {
	hold := &v.HoldList
	switch {
	case v.Problem.SettledAt != 0:
		return "Packs settled " + dated(&v.Frame, v.Problem.SettledAt)
	case hold.Total == 0:
		return "Hold the packs sealed in this time: none is logged"
	case hold.Left == 0:
		return "All " + itoa(hold.Total) + " packs of the list have an end"
	}
	return "Hold at least " + packsText(hold.Total) + ", " + itoa(hold.Left) + " left to settle"
}

func holdCallouts(v *desk.HoldSheet) (list []Callout) {
	hold := &v.HoldList
	if hold.Open {
		list = append(list, Callout{Tone: "out", Lead: "More packs may have it:",
			Text: windowText(&v.ProblemView, hold.Possible, "check that could have seen it") +
				". A lead accepts or declines them before the packs are settled."})
	}
	if hold.NoCheck && v.Problem.What != rules.WhatUnready {
		list = append(list, Callout{Tone: "due", Lead: "Look before that, too.",
			Text: "Our records of this sealer begin on " + dated(&v.Frame, hold.Begins) + "."})
	}
	apart := 0
	for _, k := range hold.Apart {
		apart += k.Count
	}
	if apart > 0 {
		list = append(list, Callout{Lead: packsText(apart) + " of this time",
			Text: "were sealed while the sealer was not ready: a problem of their own lists them."})
	}
	return list
}

// searchOrder is where to look first, and whom to tell.
func searchOrder(hold *desk.HoldView) (list []step) {
	at := map[string]int{}
	for _, e := range hold.Ends {
		at[e.Where] += e.Count
	}
	for _, where := range holdPlaces {
		s := step{Text: capital(whereWords[where]), State: "todo", Note: tellWords[where]}
		if at[where] > 0 {
			s.Note = listed(packsText(at[where])+" settled", s.Note)
		}
		list = append(list, s)
	}
	return list
}

var holdPlaces = []string{"cart", "chamber", "store", "issued"}

// tellWords are whom to tell. Common practice, no source.
var tellWords = map[string]string{
	"cart":    "tell the packing bench",
	"chamber": "tell whoever runs the sterilizers: no load leaves with them in it",
	"store":   "tell the store",
	"issued":  "a recall: tell the unit that has them; if used, infection prevention",
}

// holdLinks are what a lead can do beside settling packs.
func holdLinks(v *desk.HoldSheet) (list []Action) {
	path := problemPath(v.Ref.ID)
	if v.HoldList.Open && v.Can("AnswerHold") {
		list = append(list, Action{Text: "Answer for the wider hold", Tone: "main",
			Href: path + "/answer"})
	}
	if v.Can("FinishPacks") && !v.HoldList.Open && v.HoldList.Left == 0 {
		a := Action{Text: "Packs are settled", Href: path + "/settled"}
		if v.HoldList.Total > 0 {
			a.Tone, a.Big = "main", true
		}
		list = append(list, a)
	}
	if v.Can("ChangeHold") {
		list = append(list, Action{Text: "Widen or narrow the hold", Href: path + "/window"})
	}
	return list
}

// settleFormOf asks what became of packs; nil if nothing is left to ask.
func settleFormOf(v *desk.ProblemView, in desk.SettleIn) *settleForm {
	hold := &v.HoldList
	if !v.Can("SettlePacks") || hold.Total > 0 && hold.Left == 0 {
		return nil
	}
	f := &settleForm{To: problemPath(v.Ref.ID) + "/packs", Reason: in.Reason, AllTicked: in.All,
		Actions: []Action{{Text: "Settle these packs", Tone: "main", Big: true}}}
	if in.Count > 0 {
		f.Count = itoa(in.Count)
	}
	if hold.Left > 0 {
		f.All = "All " + itoa(hold.Left) + " that are left"
	}
	for _, r := range hold.Rows {
		if left := r.Count - r.Settled; left > 0 && hold.Left > 0 {
			f.Entries = append(f.Entries, choice{Value: r.ID.String(),
				Text: listed(entryTime(&v.Frame, r), packsText(left), r.Pouch, with("load", r.Load))})
		}
	}
	f.Entries = chosen(f.Entries, idTexts(in.Rows)...)
	f.Where = chosen(choices(holdPlaces, capitals(whereWords)), in.Where)
	f.End = chosen(choices(endsFor(v), capitals(endWords)), in.End)
	return f
}

// endsFor are the ends that this person can sign.
func endsFor(v *desk.ProblemView) []string {
	ends := []string{"repackaged", "discarded", "used", "released"}
	if v.Person.Has(record.Lead) {
		ends = append(ends, "not-found")
	}
	return ends
}

func idTexts(ids []record.ID) (list []string) {
	for _, id := range ids {
		list = append(list, id.String())
	}
	return list
}

func packTable(v *desk.ProblemView) *table {
	t := &table{Caption: "Packs logged in this time", Head: []head{{Text: "Sealed"}, {Text: "Pouch"},
		{Text: "Load"}, {Text: "Packs", Num: true}, {Text: "Settled", Num: true}}}
	for _, r := range v.HoldList.Rows {
		settled := ""
		if r.Settled > 0 {
			settled = itoa(r.Settled)
		}
		t.Rows = append(t.Rows, []cell{{Text: entryTime(&v.Frame, r)}, {Text: r.Pouch}, {Text: r.Load},
			{Text: itoa(r.Count)}, {Text: settled, Tone: "ready"}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

func endTable(v *desk.ProblemView) *table {
	t := &table{Caption: "What became of them", Head: []head{{Text: "When"},
		{Text: "Packs", Num: true}, {Text: "Where"}, {Text: "What"}, {Text: "Reason"}, {Text: "Who"}}}
	for _, e := range v.HoldList.Ends {
		t.Rows = append(t.Rows, []cell{{Text: dated(&v.Frame, e.At)}, {Text: itoa(e.Count)},
			{Text: whereWords[e.Where]}, {Text: endWords[e.End]}, {Text: e.Reason}, {Text: e.By}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}
