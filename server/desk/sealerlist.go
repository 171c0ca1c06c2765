package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// SealersView lists the sealers of a department, retired ones last.
type SealersView struct {
	Frame
	Sealers []SealerItem `json:"sealers"`
}

// SealerItem is a sealer in the list.
type SealerItem struct {
	SealerRow
	Asset    string `json:"asset,omitempty"`
	Loaner   bool   `json:"loaner,omitempty"`
	Approved int    `json:"approved"` // pouches with an approved setting
}

// Sealers lists the sealers of the caller's department.
func (d *Desk) Sealers(who Caller) (*SealersView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &SealersView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, id := range view.Dept.Sealers {
			if s := rules.GetSealer(v, id); s != nil {
				row := sealerRow(v, s, rules.Standing(v, s, view.Now))
				view.Sealers = append(view.Sealers, SealerItem{row, s.Asset, s.Loaner,
					len(s.Approvals)})
			}
		}
	})
	slices.SortStableFunc(view.Sealers, func(a, b SealerItem) int {
		return last(a.Standing.State == record.Retired) - last(b.Standing.State == record.Retired)
	})
	return view, nil
}

// FactsView are the facts of a sealer and its approved settings, whatever state
// it is in.
type FactsView struct {
	Frame
	record.SealerFacts
	ID         record.ID        `json:"id"`
	Code       string           `json:"code"`
	Since      record.Date      `json:"since"`
	Standing   record.Readiness `json:"standing"`
	Plan       record.Plan      `json:"plan"`
	Settings   []PouchSetting   `json:"settings"`   // a line for each pouch in use
	Unapproved []Ref            `json:"unapproved"` // other sealers without any setting
	Card       record.Seq       `json:"card"`       // number of the newest card, None
	CardOn     record.Date      `json:"card_on,omitzero"`
	Problem    *ProblemRef      `json:"problem"`
	Colleagues []Ref            `json:"colleagues"` // who may have made a check
	Where      Whereabouts      `json:"where"`
	Others     []Ref            `json:"-"`         // sealers that it may stand in for, retired ones too
	Documents  int              `json:"documents"` // how many are named
}

// PouchSetting is a pouch and its setting on a sealer.
type PouchSetting struct {
	PouchHere
	IFU     record.Document `json:"pouch_ifu"`
	Minutes int             `json:"minutes"` // a changeover to it takes before a check
	Like    *Setting        `json:"like"`    // newest for it on another sealer of this type
}

// Facts draws the facts of a sealer.
func (d *Desk) Facts(who Caller, code string) (*FactsView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &FactsView{}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		*view = FactsView{Frame: d.frame(v, who), SealerFacts: s.SealerFacts, ID: s.ID,
			Code:  s.Code,
			Since: s.Since, Card: record.None, Where: whereabouts(v, s), Documents: len(s.Documents)}
		for _, id := range view.Dept.Sealers {
			if o := rules.GetSealer(v, id); o != nil && o.ID != s.ID {
				view.Others = append(view.Others, Ref{ID: o.ID, Code: o.Code, Text: o.Number})
			}
		}
		view.Plan, view.Standing = view.Dept.Plan(s.Type), rules.Standing(v, s, view.Now)
		d.settings(v, s, view)
		for _, o := range d.sealersOf(v, view.Dept) {
			if o.ID != s.ID && len(o.Approvals) == 0 {
				view.Unapproved = append(view.Unapproved, Ref{ID: o.ID, Code: o.Code,
					Text: o.Number})
			}
		}
		if p := rules.GetProblem(v, view.Standing.Problem); p != nil {
			view.Problem = d.problemRef(v, p)
		}
		for _, id := range view.Dept.People {
			p := rules.GetPerson(v, id)
			if p != nil && p.Has(uses["Check"]...) {
				view.Colleagues = append(view.Colleagues, Ref{ID: id, Text: d.reveal(p.Name)})
			}
		}
	})
	return view, nil
}

// settings adds a line for each pouch of the department.
func (d *Desk) settings(v record.View, s *rules.Sealer, view *FactsView) {
	for _, id := range view.Dept.Pouches {
		p := rules.GetPouch(v, id)
		if p == nil || p.Retired {
			continue
		}
		line := PouchSetting{PouchHere: PouchHere{ID: id, Name: p.Name, Material: p.Material},
			IFU: p.IFU}
		var a *rules.Approval
		if a, line.Missing = s.Approval(v, id, view.Day); a != nil {
			line.Setting = d.setting(v, a)
			line.Minutes = s.ChangeMinutes(v, view.Dept, view.Standing.Pouch, a, view.Now)
			if a.Seq > view.Card {
				view.Card, view.CardOn = a.Seq, a.On
			}
		}
		line.Like = d.like(v, s, id, view.Frame)
		line.Ready = view.Standing.State == record.Ready && view.Standing.Pouch == id
		view.Settings = append(view.Settings, line)
	}
}

// like is the newest setting for a pouch on another sealer of the same type:
// its IFU is probably the same, its number may not be.
func (d *Desk) like(v record.View, s *rules.Sealer, pouch record.ID, f Frame) *Setting {
	var newest *rules.Approval
	for _, o := range d.sealersOf(v, f.Dept) {
		if o.ID == s.ID || o.Type != s.Type {
			continue
		}
		if a, _ := o.Approval(v, pouch, f.Day); a != nil && (newest == nil || a.Seq > newest.Seq) {
			newest = a
		}
	}
	if newest == nil {
		return nil
	}
	return d.setting(v, newest)
}
