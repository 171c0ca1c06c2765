package desk

import (
	"cmp"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PouchesView lists the pouches of a department.
type PouchesView struct {
	Frame
	Pouches []PouchView `json:"pouches"` // in use first
}

// PouchView is a pouch as its IFU describes it, and where it may be sealed.
type PouchView struct {
	Frame `json:"-"`
	ID    record.ID `json:"id"`
	record.PouchFacts
	Held     []HeldLot `json:"held"`
	Sealers  []Ref     `json:"sealers"`   // with an approved setting
	MustLook []Ref     `json:"must_look"` // their approval is older than the IFU
}

// HeldLot is a lot on hold.
type HeldLot struct {
	Lot     string      `json:"lot"`
	Since   record.Time `json:"since"`
	Problem record.ID   `json:"problem,omitzero"` // that put it on hold
	Why     string      `json:"why,omitempty"`    // a code of a fault
	seq     record.Seq
}

// Pouches lists the pouches of the caller's department.
func (d *Desk) Pouches(who Caller) (*PouchesView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &PouchesView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, id := range view.Dept.Pouches {
			if p := rules.GetPouch(v, id); p != nil {
				view.Pouches = append(view.Pouches, d.pouchView(v, view.Frame, p))
			}
		}
	})
	slices.SortStableFunc(view.Pouches, func(a, b PouchView) int {
		return cmp.Or(last(a.Retired)-last(b.Retired), strings.Compare(a.Name, b.Name))
	})
	return view, nil
}

// Pouch draws one pouch of the caller's department.
func (d *Desk) Pouch(who Caller, id record.ID) (*PouchView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	var view *PouchView
	d.ledger.View(func(v record.View) {
		if p := rules.GetPouch(v, id); p != nil && p.Dept == who.Dept {
			drawn := d.pouchView(v, d.frame(v, who), p)
			view = &drawn
		}
	})
	if view == nil {
		return nil, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	for i := range view.Held {
		if err := d.heldSince(&view.Held[i]); err != nil {
			return nil, err
		}
	}
	return view, nil
}

// heldSince reads back what put a lot on hold.
func (d *Desk) heldSince(h *HeldLot) error {
	r, err := d.ledger.Read(h.seq)
	if err != nil {
		return err
	}
	body, err := r.Content()
	if err != nil {
		return err
	}
	if b, ok := body.(*record.LotHeld); ok {
		h.Since, h.Problem, h.Why = r.At, b.Problem, b.Why
	}
	return nil
}

func (d *Desk) pouchView(v record.View, f Frame, p *rules.Pouch) PouchView {
	view := PouchView{Frame: f, ID: p.ID, PouchFacts: p.PouchFacts}
	for lot, seq := range p.Held {
		view.Held = append(view.Held, HeldLot{Lot: lot, seq: seq})
	}
	slices.SortFunc(view.Held, func(a, b HeldLot) int { return strings.Compare(a.Lot, b.Lot) })
	for _, s := range d.sealersOf(v, f.Dept) {
		a, why := s.Approval(v, p.ID, f.Day)
		switch {
		case a != nil:
			view.Sealers = append(view.Sealers, Ref{ID: s.ID, Code: s.Code, Text: s.Number})
		case why == rules.WhyIFU:
			view.MustLook = append(view.MustLook, Ref{ID: s.ID, Code: s.Code, Text: s.Number})
		}
	}
	return view
}
