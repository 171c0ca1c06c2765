package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// BoardView tells which sealer is there for which pouch, then what needs
// somebody, then everything.
type BoardView struct {
	Frame
	Pouches []PouchRow  `json:"pouches"`
	Needs   []NeedRow   `json:"needs"`
	Sealers []SealerRow `json:"sealers"`
	Found   int         `json:"found"` // reports from elsewhere that nobody has taken
	Version int64       `json:"version"`
}

// PouchRow tells where a pouch can be sealed. Pouches that nothing can seal come
// first, then those that need a check or a changeover.
type PouchRow struct {
	ID         record.ID       `json:"id"`
	Name       string          `json:"name"`
	Material   record.Material `json:"material"`
	Cannot     bool            `json:"cannot,omitempty"` // no sealer can be made ready for it at the bench
	Ready      []Ref           `json:"ready"`
	Check      []Ref           `json:"check"`      // after a check
	Changeover []WaitRef       `json:"changeover"` // after a changeover, and its minutes
	Out        []Ref           `json:"out"`        // out of service or with engineering
	Unapproved []Ref           `json:"unapproved"` // no approved setting
}

// WaitRef is a sealer and the minutes until a check on it.
type WaitRef struct {
	Ref
	Minutes int `json:"minutes"`
}

// SealerRow is a sealer on the board.
type SealerRow struct {
	Code     string            `json:"code"`
	Number   string            `json:"number"`
	Type     record.SealerType `json:"type"`
	Place    string            `json:"place,omitempty"`
	Standing record.Readiness  `json:"standing"`
	Pouch    string            `json:"pouch,omitempty"`
	Since    record.Time       `json:"since"`
}

// NeedRow is something that waits for somebody.
type NeedRow struct {
	Sealer  *SealerRow  `json:"sealer,omitempty"`
	Problem *ProblemRef `json:"problem,omitempty"`
}

// Board draws the board of the caller's department.
func (d *Desk) Board(who Caller) (*BoardView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	return d.board(who)
}

// BoardOf draws the board of a department for whoever may look: the same for all.
// Who may is asked at Glance.
func (d *Desk) BoardOf(dept record.ID) (*BoardView, error) { return d.board(Caller{Dept: dept}) }

func (d *Desk) board(who Caller) (*BoardView, error) {
	view := &BoardView{}
	var err error
	if view.Found, err = d.foundUntaken(who.Dept); err != nil {
		return nil, err
	}
	var problems []*rules.Problem
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Version = view.Size
		sealers := d.sealersOf(v, view.Dept)
		standing := make([]record.Readiness, len(sealers))
		for i, s := range sealers {
			standing[i] = rules.Standing(v, s, view.Now)
			view.Sealers = append(view.Sealers, sealerRow(v, s, standing[i]))
		}
		for _, served := range rules.WhichSealer(v, view.Dept, sealers, standing, view.Now) {
			view.Pouches = append(view.Pouches, pouchRow(served))
		}
		for _, id := range view.Dept.Open {
			if p := rules.GetProblem(v, id); p != nil {
				problems = append(problems, p)
				view.Needs = append(view.Needs, NeedRow{Problem: d.problemRef(v, p), Sealer: rowOf(view.Sealers, sealers, p.Sealer)})
			}
		}
		for i, s := range sealers {
			if standing[i].State == record.CheckDue && standing[i].Problem.IsZero() && len(s.Approvals) > 0 {
				view.Needs = append(view.Needs, NeedRow{Sealer: &view.Sealers[i]})
			}
		}
	})
	for i, p := range problems {
		if _, err := d.told(view.Needs[i].Problem, p); err != nil {
			return nil, err
		}
	}
	return view, nil
}

func (d *Desk) sealersOf(v record.View, dept *rules.Department) (list []*rules.Sealer) {
	for _, id := range dept.Sealers {
		if s := rules.GetSealer(v, id); s != nil && s.Readiness.State != record.Retired {
			list = append(list, s)
		}
	}
	return list
}

func sealerRow(v record.View, s *rules.Sealer, st record.Readiness) SealerRow {
	row := SealerRow{Code: s.Code, Number: s.Number, Type: s.Type, Place: s.Place, Standing: st, Since: st.From}
	if p := rules.GetPouch(v, st.Pouch); p != nil && (st.State == record.Ready || st.State == record.NotReady) {
		row.Pouch = p.Name
	}
	return row
}

func rowOf(rows []SealerRow, sealers []*rules.Sealer, id record.ID) *SealerRow {
	for i, s := range sealers {
		if s.ID == id {
			return &rows[i]
		}
	}
	return nil
}

func pouchRow(s rules.Served) PouchRow {
	row := PouchRow{ID: s.Pouch.ID, Name: s.Pouch.Name, Material: s.Pouch.Material, Cannot: s.Urgency() == rules.CannotSeal,
		Ready: sealerRefs(s.Ready), Check: sealerRefs(s.Check), Out: sealerRefs(s.Out), Unapproved: sealerRefs(s.Unapproved)}
	for _, w := range s.Changeover {
		row.Changeover = append(row.Changeover, WaitRef{Ref: sealerRef(w.Sealer), Minutes: w.Minutes})
	}
	return row
}

func sealerRef(s *rules.Sealer) Ref { return Ref{Code: s.Code, Text: s.Number} }

func sealerRefs(list []*rules.Sealer) (refs []Ref) {
	for _, s := range list {
		refs = append(refs, sealerRef(s))
	}
	return refs
}
