package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// handOverPage is for the next shift: what is out, on hold, due, provisional,
// tagged, not yet seen. What is in order is not on it.
type handOverPage struct {
	Page
	V      *desk.HandOverView
	Lists  []handOverList
	Due    []dueSealer
	Ready  string
	Clear  bool
	Signed []string // lines to sign on, on paper
}

type handOverList struct {
	Title string
	Rows  []row
}

func (h *house) askHandOver(c echo.Context) (*desk.HandOverView, error) {
	return h.desk.HandOver(caller(c))
}

func (h *house) drawHandOver(c echo.Context, v *desk.HandOverView) error {
	p := handOverPage{Page: h.page(c, &v.Frame, "Hand-over"), V: v,
		Signed: []string{"Handed over by", "Taken over by"}}
	p.Sub = v.In(v.Now).Format("2 January, 15:04")
	for _, l := range []handOverList{
		{"Found elsewhere", foundElsewhereRows(v)}, {"Out of service", outRows(v)}, {"On hold", holdRows(v)}, {"Check due", dueRows(v)},
		{"Provisional settings", provisionalRows(v)}, {"Lots on hold", lotRows(v)},
		{"Good checks that wait for a lead", waitingRows(v)}, {"Old cards to take down", oldCardRows(v)},
		{"Training ends", trainingRows(v)},
		{"Watched", watchedRows(v)}, {"Messages that wait", parkedRows(v)},
		{"Sent by phones", phoneRows(v)}, {"Kept on record without effect", quietRows(v)},
	} {
		if len(l.Rows) > 0 {
			p.Lists = append(p.Lists, l)
		}
	}
	for i := range v.Due {
		p.Due = append(p.Due, dueOn(&v.Frame, &v.Due[i]))
	}
	p.Clear, p.Ready = len(p.Lists) == 0 && len(p.Due) == 0, readyLine(v)
	return h.render(c, http.StatusOK, "handover", p)
}

// phoneRows tell a lead of what waits for them.
func phoneRows(v *desk.HandOverView) (rows []row) {
	inbox := ifMay(&v.Frame, "AcceptKept", "/waiting")
	switch v.FromPhones {
	case 0:
	case 1:
		rows = []row{{Text: "1 waits for a lead", Href: inbox}}
	default:
		rows = []row{{Text: itoa(v.FromPhones) + " wait for a lead", Href: inbox}}
	}
	return append(rows, missingRows(&v.Frame, v.Missing)...)
}

// missingRows tell which phones made entries that did not come.
func missingRows(f *desk.Frame, list []desk.Missing) (rows []row) {
	for _, m := range list {
		rows = append(rows, row{Text: orText(m.Device, "A phone"), Note: "this phone made " + itoa(int(m.Made)) + ", " +
			itoa(int(m.Came)) + " came; missed since " + f.Clock(m.Since) + ". Look on it under “Kept on this phone”"})
	}
	return rows
}

// quietRows are what changed nothing and should be known all the same.
func quietRows(v *desk.HandOverView) (rows []row) {
	for i := range v.Quiet {
		q := &v.Quiet[i]
		w := describe(&v.Frame, &q.Line)
		rows = append(rows, row{Text: "Sealer " + q.Sealer.Text + " · " + v.Clock(q.From), Note: sentences(w.Title, w.Text),
			Href: "/S/" + q.Sealer.Code + "/history"})
	}
	return rows
}

// outRows are the sealers that are out, with everything the next shift asks:
// tagged, seen, at work, when to expect it.
func outRows(v *desk.HandOverView) (rows []row) {
	for i := range v.Problems {
		p := &v.Problems[i]
		if !p.ForCE || p.Returned != 0 || p.Sealer == nil ||
			p.Sealer.Standing.Problem != p.Problem.ID {
			continue
		}
		tagged := "NOT TAGGED"
		switch {
		case p.Problem.Tagged != 0:
			tagged = "tagged " + v.Clock(p.Problem.Tagged)
		case p.Sealer.Standing.State == record.CheckDue || p.Sealer.Standing.State == record.NotReady:
			tagged = ""
		}
		note := sentences(listed(whatLine(p.Problem), v.Clock(p.Problem.At)), tagged,
			engineeringText(&v.Frame, p.Problem), listed(with("order", p.Order),
				with("expected", dateText(p.Expected))))
		b := bandOf(&v.Frame, p.Sealer.Standing)
		b.Note, b.Size = "", "row"
		rows = append(rows, row{Text: "Sealer " + p.Sealer.Number + " · problem " +
			itoa(p.Problem.Number), Note: note, Href: problemPath(p.Problem.ID), Band: b})
	}
	return rows
}

func holdRows(v *desk.HandOverView) (rows []row) {
	for i := range v.Problems {
		p := &v.Problems[i]
		if p.Settled != 0 || p.Problem.What == rules.WhatMakers && p.Problem.Packs == 0 {
			continue
		}
		r := row{Text: "Problem " + itoa(p.Problem.Number), Note: packsLeft(p),
			Href: problemPath(p.Problem.ID) + "/hold"}
		if p.Sealer != nil {
			r.Text = "Packs of sealer " + p.Sealer.Number + " · problem " + itoa(p.Problem.Number)
		}
		rows = append(rows, r)
	}
	return rows
}

func packsLeft(p *desk.HandOverRow) string {
	text := "at least " + packsText(p.Problem.Packs) + ", " + itoa(p.Left) + " left to settle"
	switch {
	case p.Problem.Packs == 0:
		text = "none logged: look on the packs"
	case p.Left == 0:
		text = "all have an end; a lead has to say so"
	}
	if p.Unsure {
		text = sentences(text, "a lead has to answer for the wider hold")
	}
	return text
}

func dueRows(v *desk.HandOverView) (rows []row) {
	for i := range v.Sealers {
		s := &v.Sealers[i]
		if s.Standing.State != record.CheckDue && s.Standing.State != record.NotReady {
			continue
		}
		b := bandOf(&v.Frame, s.Standing)
		b.Size = "row"
		rows = append(rows, row{Text: "Sealer " + s.Number, Href: "/S/" + s.Code, Band: b})
	}
	return rows
}

func provisionalRows(v *desk.HandOverView) (rows []row) {
	for _, p := range v.Provisional {
		note := "stands until " + dateText(p.Until)
		if p.Over {
			note = "ended " + dateText(p.Until) + ": do not use until the lead decides"
		}
		rows = append(rows, row{Text: "Sealer " + p.Sealer.Text + " · " + p.Pouch, Note: note,
			Href: "/S/" + p.Sealer.Code})
	}
	return rows
}

func foundElsewhereRows(v *desk.HandOverView) []row {
	if v.Found == 0 {
		return nil
	}
	return []row{{Text: "Inbox", Note: foundWaits(v.Found), Href: ifMay(&v.Frame, "TakeFound", "/found")}}
}

// watchedRows are the sealers that came back with no fault found: one that shows
// now is for clinical engineering only.
func watchedRows(v *desk.HandOverView) (rows []row) {
	for _, w := range v.Watched {
		rows = append(rows, row{Text: "Sealer " + w.Sealer.Text, Href: "/S/" + w.Sealer.Code, Note: watchText(&v.Frame, &w.WatchView)})
	}
	return rows
}

func watchText(f *desk.Frame, w *desk.WatchView) string {
	return "no fault was found in problem " + itoa(w.Number) + "; watched until " + f.Clock(w.Until) +
		": a fault before that is for " + midSentence(f.EngineeringWord()) + " only"
}

func parkedRows(v *desk.HandOverView) []row {
	if v.Parked == 0 {
		return nil
	}
	r := row{Text: messagesText(v.Parked), Note: "a lead or administrator has to send or drop them"}
	if v.Can("Outbox") {
		r.Href = "/outbox"
	}
	return []row{r}
}

func lotRows(v *desk.HandOverView) (rows []row) {
	for _, l := range v.Lots {
		rows = append(rows, row{Text: "Lot " + l.Lot, Note: l.Pouch})
	}
	return rows
}

// readyLine is what is in order, in one line.
func readyLine(v *desk.HandOverView) string {
	var ready []desk.Ref
	for _, s := range v.Sealers {
		if s.Standing.State == record.Ready {
			ready = append(ready, desk.Ref{Text: s.Number})
		}
	}
	if len(ready) == 0 {
		return "No sealer is ready."
	}
	return "Ready now: sealer " + refs(ready) + "."
}
