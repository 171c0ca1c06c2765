package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// LinkView is what the bearer of a one-time link sees of a problem: enough to
// work on the sealer, no photographs and no names of the department's people.
type LinkView struct {
	Frame
	Number    int                `json:"number"`
	What      string             `json:"what"`
	Kind      record.Fault       `json:"kind,omitempty"`
	Place     record.Place       `json:"place,omitempty"`
	AtCM      string             `json:"at_cm,omitempty"`
	At        record.Time        `json:"at"`
	Tagged    record.Time        `json:"tagged,omitzero"`
	Seen      record.Time        `json:"seen,omitzero"` // first, by anybody
	Stage     string             `json:"stage,omitempty"`
	Order     string             `json:"order,omitempty"`
	Vendor    string             `json:"vendor,omitempty"`
	Loaner    string             `json:"loaner,omitempty"`
	Expected  record.Date        `json:"expected,omitzero"`
	Returned  record.Time        `json:"returned,omitzero"`
	Out       bool               `json:"out"` // the sealer waits for clinical engineering
	Again     bool               `json:"again,omitempty"`
	OnlyCE    bool               `json:"only_engineering,omitempty"`
	Facts     record.SealerFacts `json:"sealer"`
	PouchName string             `json:"pouch,omitempty"`
	Setting   *Setting           `json:"setting"` // approved for the pouch, without its approver
	Earlier   []EarlierView      `json:"earlier"` // problems of this sealer, newest first
	Name      string             `json:"-"`       // as it was typed by this link before
}

// EarlierView is an earlier problem of the same sealer and what was done.
type EarlierView struct {
	Number  int          `json:"number"`
	Kind    record.Fault `json:"kind,omitempty"`
	Place   record.Place `json:"place,omitempty"`
	AtCM    string       `json:"at_cm,omitempty"`
	At      record.Time  `json:"at"`
	Finding string       `json:"finding,omitempty"`
	Action  string       `json:"action,omitempty"`
}

// earlierShown is how many earlier problems a link and a mail tell of.
const earlierShown = 3

// ByLinkView draws the problem of a one-time link. Looking records nothing: a
// mail filter that opens links does no harm.
func (d *Desk) ByLinkView(who Caller) (*LinkView, error) {
	p, err := d.problemOf(who, who.Link)
	if err != nil {
		return nil, err
	}
	var view *LinkView
	d.ledger.View(func(v record.View) { view = d.linkView(v, p) })
	for _, s := range p.Seen {
		if s.Via == record.ViaLink && s.By == who.Person {
			view.Name = d.reveal(s.Name)
		}
	}
	return view, nil
}

func (d *Desk) linkView(v record.View, p *rules.Problem) *LinkView {
	view := &LinkView{Frame: d.frame(v, Caller{Dept: p.Dept}), Number: p.Number, What: p.What,
		Kind: p.Kind, Place: p.Place, AtCM: p.AtCM, At: p.OpenedAt, Tagged: p.Tagged,
		Stage: p.Stage, Order: p.Order, Vendor: p.Vendor, Expected: p.Expected,
		Returned: p.Returned, Loaner: p.Loaner, OnlyCE: rules.OnlyEngineering(v, p)}
	if len(p.Seen) > 0 {
		view.Seen = p.Seen[0].At
	}
	if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
		view.PouchName = pouch.Name
	}
	s := rules.GetSealer(v, p.Sealer)
	if s == nil {
		return view
	}
	view.Facts = s.SealerFacts
	st := rules.Standing(v, s, view.Now)
	view.Out = st.Problem == p.ID &&
		(st.State == record.OutOfService || st.State == record.WithEngineering)
	if a, _ := s.Approval(v, p.Pouch, view.Day); a != nil {
		view.Setting = d.setting(v, a)
		view.Setting.By = ""
	}
	view.earlier(v, s, p)
	return view
}

func (view *LinkView) earlier(v record.View, s *rules.Sealer, p *rules.Problem) {
	for _, id := range slices.Backward(s.Problems) {
		o := rules.GetProblem(v, id)
		if o == nil || o.Number >= p.Number || !o.NeedsEngineering() {
			continue
		}
		view.Again = view.Again || rules.SamePlaceAgain(p, o)
		if len(view.Earlier) < earlierShown {
			view.Earlier = append(view.Earlier, EarlierView{o.Number, o.Kind, o.Place, o.AtCM,
				o.OpenedAt, o.Finding, o.Action})
		}
	}
}
