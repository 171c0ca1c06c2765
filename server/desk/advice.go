package desk

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// AdviceView is what a lead decides on for one pouch on one sealer: the window,
// what is approved, what the newest table or a ladder trial proposes, and what a
// value that was asked about would give.
type AdviceView struct {
	Frame
	record.SealerFacts
	Code   string     `json:"code"`
	Pouch  Evidence   `json:"pouch"`
	Table  *TableView `json:"table"`        // the newest, with this window alone
	Ladder *Climb     `json:"ladder"`       // asked for, or the newest for this pouch
	Doubt  *Line      `json:"doubt"`        // that put the approved setting in question
	Tried  *AtFace    `json:"tried"`        // the value that was asked about
	No     string     `json:"no,omitempty"` // why that value cannot be weighed
	Others []Ref      `json:"others"`       // other sealers approved for this pouch
}

// AdviceAsk asks for advice. Value is one to weigh beside what is proposed.
type AdviceAsk struct {
	Code   string
	Pouch  record.ID
	Ladder record.Seq // None: the newest
	Value  string
}

// Advice draws what is known for one pouch on one sealer.
func (d *Desk) Advice(who Caller, ask AdviceAsk) (*AdviceView, error) {
	if _, err := d.may(who, "Settings"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, ask.Code)
	if err != nil {
		return nil, err
	}
	p := d.pouch(ask.Pouch)
	if p == nil || p.Dept != who.Dept {
		return nil, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	view := &AdviceView{SealerFacts: s.SealerFacts, Code: s.Code}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		view.Frame = d.frame(v, who)
		view.Pouch = d.evidence(v, s, p, view.Day)
		for _, o := range d.sealersOf(v, view.Dept) {
			if a, _ := o.Approval(v, p.ID, view.Day); a != nil && o.ID != s.ID {
				view.Others = append(view.Others, Ref{ID: o.ID, Code: o.Code, Text: o.Number})
			}
		}
	})
	if err := d.weighOn(view, s, p); err != nil {
		return nil, err
	}
	if err := d.doubtOf(view, s); err != nil {
		return nil, err
	}
	if view.Ladder, err = d.ladderFor(s, p.ID, ask.Ladder); err != nil {
		return nil, err
	}
	view.try(ask.Value)
	return view, nil
}

func (d *Desk) weighOn(view *AdviceView, s *rules.Sealer, p *rules.Pouch) (err error) {
	if view.Table, err = d.newestTable(s, view.Frame); err != nil || view.Table == nil {
		return err
	}
	view.Pouch.weigh(view.Table)
	view.Table.Windows = slices.DeleteFunc(view.Table.Windows, func(w CurveWindow) bool { return w.Pouch != p.Name })
	if w, ok := rules.WindowOf(&p.PouchFacts); ok && len(view.Table.Windows) == 0 {
		view.Table.Windows = []CurveWindow{windowOf(w, view.Table.Scale)}
	}
	return nil
}

func (d *Desk) doubtOf(view *AdviceView, s *rules.Sealer) error {
	for _, doubt := range s.Doubts {
		if doubt.Pouch != view.Pouch.ID {
			continue
		}
		r, err := d.ledger.Read(doubt.Seq)
		if err != nil {
			return err
		}
		view.Doubt = &d.lines([]record.Record{r})[0]
	}
	return nil
}

// ladderFor is a ladder trial of a sealer for a pouch: the one asked for, or the
// newest; nil if there is none.
func (d *Desk) ladderFor(s *rules.Sealer, pouch record.ID, asked record.Seq) (*Climb, error) {
	for _, seq := range slices.Backward(s.Filed.Ladders) {
		if asked != record.None && seq != asked {
			continue
		}
		r, err := d.ledger.Read(seq)
		if err != nil {
			return nil, err
		}
		if b, err := bodyOf[*record.LadderTrial](&r); err != nil || b.Pouch != pouch {
			continue
		}
		c := climb(d.lines([]record.Record{r})[0])
		return &c, nil
	}
	return nil, nil
}

// try weighs a value that somebody typed, or says why that cannot be done.
func (view *AdviceView) try(value string) {
	t := view.Table
	if value == "" || t == nil || t.curve == nil || view.Pouch.Window == "" {
		return
	}
	q, err := sealing.ParseQuantity(value, t.Control)
	if err == nil {
		view.Tried, err = weighing{t.curve, &t.Table, view.Pouch.window, t.Scale}.at(q)
	}
	view.No = messageOf(err)
}
