package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// HoldView is a hold list, names and places revealed.
type HoldView struct {
	rules.Hold
	Rows     []HoldRow   `json:"rows"` // in the order of where they are
	Ends     []HoldEnd   `json:"ends"` // what became of packs, oldest first
	Places   []HoldPlace `json:"places"`
	Told     []HoldTold  `json:"told"` // oldest first
	Settled  int         `json:"settled"`
	Left     int         `json:"left"`                 // known packs without an end
	Number   string      `json:"number"`               // of the sealer, as on the pack
	SetBy    string      `json:"set_by,omitempty"`     // the lead who widened or narrowed it
	SetWhy   string      `json:"set_why,omitempty"`    //
	Answered string      `json:"answered,omitempty"`   // the lead who answered for the difference
	Accepted bool        `json:"accepted,omitempty"`   // the wider window counts
	Why      string      `json:"answer_why,omitempty"` // the reason for the answer
}

// HoldRow is an entry of the pack log in the window.
type HoldRow struct {
	ID      record.ID   `json:"id"`
	Pouch   string      `json:"pouch"`
	Count   int         `json:"count"`
	From    record.Time `json:"from"`
	To      record.Time `json:"to"`
	Load    string      `json:"load,omitempty"`
	Settled int         `json:"settled"`
	At      []HoldAt    `json:"at,omitempty"`
	Listed  bool        `json:"listed,omitempty"` // a row of a list that came in, not of the pack log
	Mark    string      `json:"pack,omitempty"`   // the pack's own number, of such a row
}

// HoldEnd is an end that some packs have found.
type HoldEnd struct {
	Count  int         `json:"count"`
	Where  string      `json:"where,omitempty"`
	End    string      `json:"end"`
	Reason string      `json:"reason,omitempty"`
	By     string      `json:"by"`
	At     record.Time `json:"at"`
}

func (d *Desk) holdView(v record.View, p *rules.Problem, hold rules.Hold, number string) HoldView {
	left, ended := leftOf(p, hold)
	h := HoldView{Hold: hold, Number: number, Left: left}
	for _, s := range p.Settled {
		h.Settled += s.Count
		h.Ends = append(h.Ends, HoldEnd{Count: s.Count, Where: s.Where, End: s.End, Reason: s.Reason,
			By: d.name(v, s.By), At: s.At})
	}
	for _, k := range hold.Packs {
		row := HoldRow{ID: k.ID, Count: k.Count, From: k.At.From, To: k.At.To, Load: k.Load, Pouch: k.Named, Mark: k.Mark, Listed: !k.List.IsZero(),
			Settled: min(k.Count, ended[k.ID])}
		if pouch := rules.GetPouch(v, k.Pouch); pouch != nil {
			row.Pouch = pouch.Name
		}
		h.Rows = append(h.Rows, row)
	}
	if p.Hold != nil {
		h.SetBy, h.SetWhy = d.name(v, p.Hold.By), p.Hold.Reason
	}
	if p.Answer != nil {
		h.Answered, h.Accepted, h.Why = d.name(v, p.Answer.By), p.Answer.Accept, p.Answer.Reason
	}
	return h
}

// HoldSheet is what the hold list's own page shows.
type HoldSheet struct {
	ProblemView
	// Where the window would begin or end one check further, 0 if there is none:
	// a lead widens it a check at a time.
	Earlier record.Time `json:"earlier,omitzero"`
	Later   record.Time `json:"later,omitzero"`
}

// Hold draws the hold list of a problem.
func (d *Desk) Hold(who Caller, id record.ID) (*HoldSheet, error) {
	view, err := d.Problem(who, id)
	if err != nil {
		return nil, err
	}
	sheet := &HoldSheet{ProblemView: *view}
	sheet.Earlier, sheet.Later, err = d.further(&view.Problem, view.HoldList.Counts)
	return sheet, err
}

// further finds the good checks next to a window, outside it.
func (d *Desk) further(p *rules.Problem, b rules.Bounds) (earlier, later record.Time, err error) {
	good := func(c rules.CheckFact) bool { return c.Good && c.Witnessed && c.Pouch == p.Pouch }
	before := func(c rules.CheckFact) bool { return good(c) && c.Began < b.From }
	h, err := d.history(p, func(h *rules.History) bool {
		return h.Enough(p) && slices.ContainsFunc(h.Checks, before)
	})
	for _, c := range h.Checks {
		switch {
		case before(c):
			earlier = c.Began
		case good(c) && c.Began > b.To && later == 0:
			later = c.Began
		}
	}
	return earlier, later, err
}
