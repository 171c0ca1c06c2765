package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// QueueView lists the problems that clinical engineering sees, the newest first.
type QueueView struct {
	Frame
	Problems  []QueueRow `json:"problems"`
	Engineers []Ref      `json:"engineers,omitempty"`
	Mailed    []string   `json:"mailed,omitempty"` // who gets a mail of each
	Lost      []QuietRow `json:"lost,omitempty"`   // settings lost within a day and set again
}

// QueueRow is a problem as clinical engineering sees it.
type QueueRow struct {
	NeedRow
	Facts     record.SealerFacts `json:"sealer_facts"`
	PouchName string             `json:"pouch,omitempty"`
	Setting   *Setting           `json:"setting"` // approved for the pouch
	Order     string             `json:"order,omitempty"`
	Vendor    string             `json:"vendor,omitempty"`
	Expected  record.Date        `json:"expected,omitzero"`
	Loaner    string             `json:"loaner,omitempty"`
	Photo     record.ID          `json:"photo,omitzero"` // the newest
	OnlyCE    bool               `json:"only_engineering,omitempty"`
}

// Queue draws clinical engineering's queue: what is about a sealer that is not
// back yet.
func (d *Desk) Queue(who Caller) (*QueueView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &QueueView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Engineers, view.Mailed = d.engineers(v, view.Dept)
		for _, id := range slices.Backward(view.Dept.Open) {
			p := rules.GetProblem(v, id)
			if p != nil && p.NeedsEngineering() && p.Returned == 0 {
				view.Problems = append(view.Problems, d.queueRow(v, &view.Frame, p))
			}
		}
	})
	rows, err := d.quiet(&view.Frame)
	for _, r := range rows {
		if r.Cause == settingLost {
			view.Lost = append(view.Lost, r)
		}
	}
	return view, err
}

func (d *Desk) queueRow(v record.View, f *Frame, p *rules.Problem) QueueRow {
	row := QueueRow{NeedRow: d.needRow(v, f, p), Order: p.Order, Vendor: p.Vendor,
		Expected: p.Expected, Loaner: p.Loaner, OnlyCE: rules.OnlyEngineering(v, p)}
	if n := len(p.Photos); n > 0 && d.photoThere(p.Photos[n-1].SHA256) {
		row.Photo = p.Photos[n-1].Record
	}
	if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
		row.PouchName = pouch.Name
	}
	s := rules.GetSealer(v, p.Sealer)
	if s == nil {
		return row
	}
	row.Facts = s.SealerFacts
	if a, _ := s.Approval(v, p.Pouch, f.Day); a != nil {
		row.Setting = d.setting(v, a)
	}
	return row
}
