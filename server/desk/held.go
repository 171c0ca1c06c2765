package desk

import (
	"slices"
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// HeldView tells of a sealer's repairs, fixes and changed parts what came after
// each, the newest first.
type HeldView struct {
	Frame
	record.SealerFacts
	Code  string    `json:"code"`
	Mends []HeldRow `json:"mends"`
}

// HeldRow is one of them, with the names of its task and its problem.
type HeldRow struct {
	rules.Held
	Task   string `json:"task,omitempty"`
	Number int    `json:"number,omitempty"` // of the problem
}

// heldReach is how far back a sealer's own page looks, and at how many records.
const (
	heldReach   = 730 * 24 * time.Hour
	heldRecords = 6000
	heldBefore  = 31 * 24 * time.Hour // faults that a mend may answer
)

// Held draws what came after each mend of a sealer.
func (d *Desk) Held(who Caller, code string) (*HeldView, error) {
	if _, err := d.may(who, "Settings"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &HeldView{SealerFacts: s.SealerFacts, Code: s.Code}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	view.Mends, err = d.heldOf(s, view.Now.Add(-heldReach))
	return view, err
}

// heldOfProblem are the mends of one problem, for those whom that concerns.
func (d *Desk) heldOfProblem(f *Frame, p *rules.Problem) ([]HeldRow, error) {
	var s *rules.Sealer
	d.ledger.View(func(v record.View) { s = rules.GetSealer(v, p.Sealer) })
	if s == nil || p.Fixed == 0 || !f.Can("Settings") {
		return nil, nil
	}
	all, err := d.heldOf(s, p.OpenedAt.Add(-heldBefore))
	return slices.DeleteFunc(all, func(h HeldRow) bool { return h.Problem != p.ID }), err
}

// heldOf reads the sealer's chain, and those of its problems, back to a time.
func (d *Desk) heldOf(s *rules.Sealer, since record.Time) ([]HeldRow, error) {
	var mends []rules.Mend
	var faults []rules.FaultFact
	left := heldRecords
	for r, err := range d.ledger.Chain(sealerSubject(s)) {
		if err != nil {
			return nil, err
		}
		if left--; r.At < since || left < 0 {
			break
		}
		if f, ok := rules.FaultIn(&r); ok {
			faults = append(faults, f)
		}
		if m, ok := rules.MendIn(&r); ok {
			mends = append(mends, m)
		}
	}
	more, err := d.mendsOfProblems(s, since)
	if err != nil {
		return nil, err
	}
	return d.heldRows(s, rules.DidItHold(append(mends, more...), faults, d.now())), nil
}

func (d *Desk) mendsOfProblems(s *rules.Sealer, since record.Time) (mends []rules.Mend, err error) {
	for _, id := range slices.Backward(s.Problems) {
		var p *rules.Problem
		d.ledger.View(func(v record.View) { p = rules.GetProblem(v, id) })
		if p == nil || p.Fixed == 0 || p.Fixed < since {
			continue
		}
		for r, err := range d.ledger.Chain(problemSubject(p)) {
			if err != nil {
				return nil, err
			}
			if m, ok := rules.MendIn(&r); ok {
				mends = append(mends, m)
			}
		}
	}
	return mends, nil
}

func (d *Desk) heldRows(s *rules.Sealer, list []rules.Held) (rows []HeldRow) {
	d.ledger.View(func(v record.View) {
		for _, h := range list {
			row := HeldRow{Held: h}
			if h.What == rules.MendedTask {
				row.Task = nameOfTask(v, s, h.Name)
			}
			if p := rules.GetProblem(v, h.Problem); p != nil {
				row.Number = p.Number
			}
			rows = append(rows, row)
		}
	})
	return rows
}
