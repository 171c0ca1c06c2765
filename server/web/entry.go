package web

import (
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// An entry has a page of its own where it can be corrected or taken back.

// entryPage shows an entry as it was written down, what was corrected of it and,
// to a lead, the forms for it.
type entryPage struct {
	Page
	V       *desk.EntryView
	Events  []event // the entry, then its corrections
	In      desk.CorrectIn
	Fields  []entryField
	Kinds   []choice
	Places  []choice
	Found   []choice
	Ends    []choice
	Correct hidden
	Void    hidden
	Confirm hidden
	Why     string // typed into the form that was not taken
	VoidWhy string
	Err     map[string]string
	VoidErr map[string]string
	Summary *Summary
}

// entryField is a line of text of the form.
type entryField struct{ Name, Label, Value string }

func (h *house) askEntry(c echo.Context) (*desk.EntryView, error) {
	seq, err := strconv.ParseInt(c.Param("seq"), 10, 64)
	if err != nil {
		return nil, fault.New(fault.Unknown, "There is no such entry here.")
	}
	return h.desk.Entry(caller(c), record.Seq(seq))
}

func (h *house) drawEntry(c echo.Context, v *desk.EntryView) error {
	return h.entryPage(c, v, v.Form, "", nil)
}

// entryPage draws the page; err belongs to the form called which.
func (h *house) entryPage(c echo.Context, v *desk.EntryView, in desk.CorrectIn, which string, err error) error {
	p := entryPage{Page: h.page(c, &v.Frame, "Entry"), V: v, In: in, Summary: summaryOf(err)}
	p.Sub = "record " + strconv.FormatInt(int64(v.Entry), 10)
	switch {
	case v.Sealer != nil:
		p.Back = &Link{Href: "/S/" + v.Sealer.Code + "/history", Text: "Records of sealer " + v.Sealer.Text}
	case v.Problem != nil:
		p.Back = &Link{Href: "/problems/" + v.Problem.Code, Text: "Problem " + v.Problem.Text}
	}
	p.Events = timeline(&v.Frame, append([]desk.Line{v.Line}, v.Later...))
	typed := typedFrom(c)
	for name, form := range map[string]*hidden{"correct": &p.Correct, "void": &p.Void, "confirm": &p.Confirm} {
		*form = formFor(&v.Frame, desk.From{}, name)
		if name == which && !fault.Is(err, fault.Stale) {
			*form = formFor(&v.Frame, typed, name)
		}
	}
	if which == "correct" {
		p.Err, p.Why = fieldErrors(err), c.FormValue("why")
	} else {
		p.VoidErr, p.VoidWhy = fieldErrors(err), c.FormValue("why")
	}
	p.form()
	return h.render(c, code(err), "entry", p)
}

// form has the fields that entries of this kind have.
func (p *entryPage) form() {
	in := &p.In
	switch b := p.V.Line.Body.(type) {
	case *record.Check:
		p.Fields = []entryField{{"shown", "Display showed", in.Shown}, {"set", "Found set to", in.Set}, {"dwell", "Held", in.Dwell},
			{"speed", "Speed", in.Speed}, {"pressure", "Pressure", in.Pressure}, {"kit", "Lot of the kit or sheets", in.Kit},
			{"lot", "Lot of the test pouches", in.Lot}}
		if b.Outcome == record.Fail {
			p.fault()
		}
	case *record.BadSeal:
		p.Fields = []entryField{{"lot", "Pouch lot", in.Lot}, {"load", "Load", in.Load}}
		p.Found = chosen(choices([]string{record.AtBench, record.AtLoad, record.AtStore, record.AtTheatre}, capitals(foundWords)), in.Found)
		p.fault()
	case *record.Packs:
		p.Fields = []entryField{{"count", "Packs", itoa(in.Count)}, {"load", "Load", in.Load}, {"set", "Sealed at, if not as approved", in.Set}}
	case *record.PackSettled:
		p.Fields = []entryField{{"count", "Packs", itoa(in.Count)}, {"reason", "Reason given then", in.Reason}}
		p.Ends = chosen(choices([]string{"repackaged", "discarded", "used", "released", "not-found"}, capitals(endWords)), in.End)
		p.Found = nil
	}
}

func (p *entryPage) fault() {
	first, more := faultChoices(p.In.Kind)
	p.Kinds = append(first, more...)
	p.Places = chosen([]choice{{Value: "left", Text: "Left"}, {Value: "middle", Text: "Middle"}, {Value: "right", Text: "Right"},
		{Value: "whole", Text: "All along"}, {Value: "", Text: "Not known"}}, string(p.In.Place))
	p.Fields = append(p.Fields, entryField{"at_cm", "cm from the left, as you stand", p.In.AtCM})
}

// entryStep binds a form of the page and its twin in the JSON interface.
func entryStep[In any](h *house, e *router, path, said string, use useCase[In, desk.Done], form func(In) desk.CorrectIn) {
	next := func(c echo.Context, _ In, out desk.Done) string {
		what := said
		if out.Nothing == "second-name" {
			what = "asked-back"
		}
		return "/entries/" + c.Param("seq") + "?said=" + what
	}
	again := func(c echo.Context, in In, err error) error {
		v, viewErr := h.askEntry(c)
		if viewErr != nil {
			return err
		}
		typed := v.Form
		if form != nil {
			typed = form(in)
			typed.Version = v.Version
		}
		return h.entryPage(c, v, typed, strings.TrimPrefix(path, "/"), err)
	}
	both(h, e, "/entries/:seq"+path, "/entries/:seq"+path, use, next, again)
}

// amendedText is what became of an entry, in a list.
func amendedText(f *desk.Frame, l *desk.Line) string {
	a := l.Amended
	if a == nil {
		return ""
	}
	signed := a.Who + ", " + f.Clock(a.At)
	if a.Asked != "" {
		signed = a.Asked + " and " + signed
	}
	switch a.What {
	case "taken-back":
		return sentences("Taken back: it does not count. "+signed, a.Why)
	case "asked":
		return sentences("To be taken back, waits for a second name. "+signed, a.Why)
	}
	now := *l
	now.Body, now.Amended, now.Note = a.Body, nil, a.Note
	w := describe(f, &now)
	at := ""
	if a.From != 0 {
		at = "at " + f.Clock(a.From)
	}
	return "Corrected: " + sentences(w.Title, w.Text, at) + ". " + sentences(signed, a.Why)
}
