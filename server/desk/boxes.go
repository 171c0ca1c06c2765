package desk

import (
	"context"
	"slices"
	"strings"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// BoxIn says that a new box was opened.
type BoxIn struct {
	From
	What    record.Supply `form:"what" json:"what"`
	Pouch   record.ID     `form:"pouch" json:"pouch,omitzero"` // of a box of pouches
	Lot     string        `form:"lot" json:"lot"`
	Expires record.Date   `form:"expires" json:"expires,omitzero"`
}

// OpenBox records that a box of dye, of indicator sheets or of pouches is in use.
func (d *Desk) OpenBox(ctx context.Context, who Caller, in BoxIn) (Done, error) {
	return d.facts(ctx, who, "OpenBox", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.BoxOpened{What: in.What, Pouch: in.Pouch, Lot: strings.TrimSpace(in.Lot), Expires: in.Expires}, nil)
}

// BoxesView lists the boxes in use.
type BoxesView struct {
	Frame
	Boxes   []BoxView `json:"boxes"`
	Pouches []Ref     `json:"pouches"` // in use
}

// BoxView is a box in use.
type BoxView struct {
	What    record.Supply `json:"what"`
	Pouch   *Ref          `json:"pouch,omitempty"`
	Lot     string        `json:"lot"`
	On      record.Date   `json:"opened"`
	Expires record.Date   `json:"expires,omitzero"`
	Expired bool          `json:"expired,omitempty"`
	Held    bool          `json:"held,omitempty"` // its lot is on hold
}

// Boxes lists the boxes in use in the caller's department.
func (d *Desk) Boxes(who Caller) (*BoxesView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &BoxesView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, id := range view.Dept.Pouches {
			if p := rules.GetPouch(v, id); p != nil && !p.Retired {
				view.Pouches = append(view.Pouches, Ref{ID: id, Text: p.Name})
			}
		}
		for i := range view.Dept.Boxes {
			if b := boxView(v, &view.Dept.Boxes[i], view.Day); b != nil {
				view.Boxes = append(view.Boxes, *b)
			}
		}
	})
	slices.SortStableFunc(view.Boxes, func(a, b BoxView) int { return strings.Compare(string(a.What), string(b.What)) })
	return view, nil
}

// boxView draws a box; nil for one of a pouch that is not used any more.
func boxView(v record.View, b *rules.Box, day record.Date) *BoxView {
	if b == nil {
		return nil
	}
	view := &BoxView{What: b.What, Lot: b.Lot, On: b.On, Expires: b.Expires, Expired: b.Expired(day)}
	if b.What == record.PouchBox {
		p := rules.GetPouch(v, b.Pouch)
		if p == nil || p.Retired {
			return nil
		}
		view.Pouch = &Ref{ID: p.ID, Text: p.Name}
		_, view.Held = p.Held[b.Lot]
	}
	return view
}

// inUse names the boxes in use where a check names none.
func inUse(dept *rules.Department, c *record.Check) {
	if kit := dept.Kit(c); kit != nil && c.Kit == "" {
		c.Kit = kit.Lot
	}
	if box := dept.Box(record.PouchBox, c.Pouch); box != nil && c.Lot == "" {
		c.Lot = box.Lot
	}
}

// boxesFor are the boxes in use that a check of the pouch in hand is made with.
func boxesFor(v record.View, view *SealerView) (list []BoxView) {
	if view.Pouch == nil {
		return nil
	}
	kit := view.Dept.Kit(&record.Check{Tests: view.Plan.Tests})
	for _, b := range []*rules.Box{kit, view.Dept.Box(record.PouchBox, view.Pouch.ID)} {
		if drawn := boxView(v, b, view.Day); drawn != nil {
			list = append(list, *drawn)
		}
	}
	return list
}
