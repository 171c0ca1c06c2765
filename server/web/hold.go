package web

import (
	"maps"
	"net/http"
	"slices"
	"strings"

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
	Told     *table
	Settle   *settleForm
	Tell     *tellForm
	Links    []Action
	Summary  *Summary
	Err      map[string]string
}

// settleForm says what became of packs, or where they are.
type settleForm struct {
	To            string
	Entries       []choice
	Loads         []choice // whole loads, where the list is too long to tick
	All           string   // the words of the box for all that are left
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

// locateAgain keeps what was typed when the place of packs was not taken.
func (h *house) locateAgain(c echo.Context, in desk.LocateIn, err error) error {
	return h.holdAgain(c, desk.SettleIn{ProblemIn: in.ProblemIn, Rows: in.Rows, Loads: in.Loads, Count: in.Count, Where: in.Where}, err)
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
	p.Callouts, p.Order = holdCallouts(v), searchOrder(&v.ProblemView)
	p.List, p.Ends, p.Told = packTable(&v.ProblemView), endTable(&v.ProblemView), toldTable(&v.ProblemView)
	if v.Problem.SettledAt == 0 && v.Problem.Closed == 0 {
		p.Settle, p.Links = settleFormOf(&v.ProblemView, in), holdLinks(v)
	}
	if v.Problem.Closed == 0 {
		p.Tell = tellFormOf(c, &v.ProblemView, p.Err)
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
	logged, listedRows := 0, 0
	for _, r := range hold.Rows {
		if r.Listed {
			listedRows++
		} else {
			logged++
		}
	}
	if logged > 0 && listedRows > 0 {
		list = append(list, Callout{Tone: "due", Lead: "Some packs may stand here twice:",
			Text: "from the pack log and from a list that came in. Count each once."})
	}
	if c := recall(&v.ProblemView); c != nil {
		list = append(list, *c)
	}
	if apart > 0 {
		list = append(list, Callout{Lead: packsText(apart) + " of this time",
			Text: "were sealed while the sealer was not ready: a problem of their own lists them."})
	}
	return list
}

// searchOrder is where to look first, whom to tell, and who knows.
func searchOrder(v *desk.ProblemView) (list []step) {
	for _, place := range v.HoldList.Places {
		s := step{Text: capital(whereWords[place.Where]), State: "todo", Note: tellWords[place.Where]}
		var known []string
		if place.Here > 0 {
			known = append(known, packsText(place.Here)+" kept aside here")
		}
		if place.Settled > 0 {
			known = append(known, packsText(place.Settled)+" settled")
		}
		if len(known) > 0 {
			s.Note = sentences(capital(strings.Join(known, ", ")), s.Note)
		}
		for _, t := range place.Told {
			s.Note = sentences(s.Note, capital(whomWords[t.Whom])+" told "+dated(&v.Frame, t.At)+by(t.By))
		}
		list = append(list, s)
	}
	return list
}

var holdPlaces = record.Wheres()

// tellWords are whom to tell. Common practice, no source.
var tellWords = map[string]string{
	record.OnCart:    "tell the packing bench",
	record.InChamber: "tell whoever runs the sterilizers: no load leaves with them in it",
	record.InStore:   "tell the store",
	record.Issued:    "a recall: tell the units that have them; if used, infection prevention",
}

var whomWords = map[string]string{
	"bench": "packing bench", "sterilizers": "sterilizers", "store": "store", "units": "units that have them",
	record.InfectionPrevention: "infection prevention", "supplier": "supplier", "risk": "risk management",
}

// recall tells that packs have left: a hold becomes a recall for those.
func recall(v *desk.ProblemView) *Callout {
	left := 0
	for _, place := range v.HoldList.Places {
		if place.Where == record.Issued {
			left = place.Here + place.Settled
		}
	}
	if left == 0 {
		return nil
	}
	c := &Callout{Tone: "out", Lead: "A recall for " + packsText(left) + ":", Text: "they have left the department."}
	if t := toldOf(v, record.InfectionPrevention); t != nil {
		c.Text += " Infection prevention was told " + listed(dated(&v.Frame, t.At)+by(t.By), with("incident", t.Reference)) + "."
	} else if used(v) > 0 {
		c.Text += " " + capital(packsText(used(v))) + " used: tell infection prevention and note the incident reference."
	}
	return c
}

// toldOf is the newest word to somebody, nil if nobody told them.
func toldOf(v *desk.ProblemView, whom string) *desk.HoldTold {
	for _, t := range slices.Backward(v.HoldList.Told) {
		if t.Whom == whom {
			return &t
		}
	}
	return nil
}

func used(v *desk.ProblemView) (n int) {
	for _, e := range v.HoldList.Ends {
		if e.End == "used" {
			n += e.Count
		}
	}
	return n
}

// tellForm says who was told of a hold.
type tellForm struct {
	hidden
	To        string
	Whom      []choice
	Reference string
	Open      bool
}

func tellFormOf(c echo.Context, v *desk.ProblemView, wrong map[string]string) *tellForm {
	if !v.Can("TellOfHold") {
		return nil
	}
	return &tellForm{hidden: formFor(&v.Frame, desk.From{}, "told"), To: problemPath(v.Ref.ID) + "/told",
		Whom:      chosen(choices(record.Whom(), capitals(whomWords)), c.FormValue("whom")),
		Reference: c.FormValue("reference"), Open: wrong["whom"]+wrong["reference"] != ""}
}

func toldTable(v *desk.ProblemView) *table { return toldRows(&v.Frame, v.HoldList.Told) }

func toldRows(f *desk.Frame, list []desk.HoldTold) *table {
	t := &table{Caption: "Who was told", Head: []head{{Text: "Who"}, {Text: "When"}, {Text: "Reference"}, {Text: "Told by"}}}
	for _, told := range list {
		t.Rows = append(t.Rows, []cell{{Text: capital(whomWords[told.Whom])}, {Text: dated(f, told.At)},
			{Text: told.Reference}, {Text: told.By}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
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
	if len(v.HoldList.Rows) > 0 {
		list = append(list, Action{Text: "The list for a spreadsheet", Href: path + "/hold.csv"})
	}
	if v.Can("ImportPacks") {
		list = append(list, Action{Text: "Bring in a list of packs", Href: "/pack-lists", Note: "from your own system"})
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
		Actions: []Action{{Text: "Settle these packs", Tone: "main", Big: true},
			{Text: "Found, no end yet", Note: "kept aside where they are", To: problemPath(v.Ref.ID) + "/located"}}}
	if in.Count > 0 {
		f.Count = itoa(in.Count)
	}
	if hold.Left > 0 {
		f.All = "All " + itoa(hold.Left) + " that are left"
	}
	f.Entries, f.Loads = entryChoices(v), nil
	if len(f.Entries) > mostTicks {
		f.Loads, f.Entries = loadChoices(v), nil
	}
	f.Entries, f.Loads = chosen(f.Entries, idTexts(in.Rows)...), chosen(f.Loads, in.Loads...)
	f.Where = chosen(choices(holdPlaces, capitals(whereWords)), in.Where)
	f.End = chosen(choices(endsFor(v), capitals(endWords)), in.End)
	return f
}

// mostTicks is how many entries a page offers to tick; a longer list is settled
// load by load.
const mostTicks = 150

func entryChoices(v *desk.ProblemView) (list []choice) {
	for _, r := range v.HoldList.Rows {
		if left := r.Count - r.Settled; left > 0 && v.HoldList.Left > 0 {
			list = append(list, choice{Value: r.ID.String(),
				Text: listed(entryTime(&v.Frame, r), with("pack", r.Mark), packsText(left), r.Pouch, with("load", r.Load), atText(r.At))})
		}
	}
	return list
}

func loadChoices(v *desk.ProblemView) (list []choice) {
	left := map[string]int{}
	for _, r := range v.HoldList.Rows {
		left[r.Load] += r.Count - r.Settled
	}
	for _, load := range slices.Sorted(maps.Keys(left)) {
		if load != "" && left[load] > 0 {
			list = append(list, choice{Value: load, Text: "Load " + load + ", " + packsText(left[load])})
		}
	}
	return list
}

// atText tells where packs of an entry are.
func atText(at []desk.HoldAt) string {
	var list []string
	for _, a := range at {
		list = append(list, whereWords[a.Where]+" "+itoa(a.Count))
	}
	return strings.Join(list, ", ")
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
	t := &table{Caption: "Packs known of this time", Head: []head{{Text: "Sealed"}, {Text: "Pouch"},
		{Text: "Load"}, {Text: "Packs", Num: true}, {Text: "Where"}, {Text: "Settled", Num: true}}}
	marked := slices.ContainsFunc(v.HoldList.Rows, func(r desk.HoldRow) bool { return r.Mark != "" })
	if marked {
		t.Head = slices.Insert(t.Head, 1, head{Text: "Pack"})
	}
	for i, r := range v.HoldList.Rows {
		if i == mostRows {
			t.Caption += ", the first " + itoa(mostRows) + " of " + itoa(len(v.HoldList.Rows))
			break
		}
		settled := ""
		if r.Settled > 0 {
			settled = itoa(r.Settled)
		}
		cells := []cell{{Text: entryTime(&v.Frame, r)}, {Text: r.Pouch}, {Text: r.Load},
			{Text: itoa(r.Count)}, {Text: atText(r.At)}, {Text: settled, Tone: "ready"}}
		if marked {
			cells = slices.Insert(cells, 1, cell{Text: r.Mark})
		}
		t.Rows = append(t.Rows, cells)
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// mostRows is how many rows of a hold list a page draws; all of them are in its
// CSV.
const mostRows = 1000

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
