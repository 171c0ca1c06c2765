package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// ProblemsView lists problems: those that are open, then closed ones, both the
// newest first.
type ProblemsView struct {
	Frame
	Open   []NeedRow   `json:"open"` // on the first page only
	Closed []ClosedRow `json:"closed"`
	Newer  bool        `json:"newer"` // this is not the first page
	Older  int         `json:"older"` // before which number the next page ends, 0 at the end
}

// ClosedRow is a problem that is closed.
type ClosedRow struct {
	NeedRow
	Closed  record.Time `json:"closed"`
	By      string      `json:"by"`
	Finding string      `json:"finding,omitempty"`
}

// problemPage is how many closed problems stand on a page.
const problemPage = 20

// Problems draws a page of the caller's department's problems: closed ones with
// a smaller number than before, or from the newest on if it is 0.
func (d *Desk) Problems(who Caller, before int) (*ProblemsView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &ProblemsView{Newer: before > 0}
	var open, closed []*rules.Problem
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, p := range problemsOf(v, view.Dept) {
			switch {
			case p.Closed == 0 && before == 0:
				open = append(open, p)
				view.Open = append(view.Open, d.needRow(v, &view.Frame, p))
			case p.Closed == 0 || before > 0 && p.Number >= before:
			case len(view.Closed) < problemPage:
				closed = append(closed, p)
				view.Closed = append(view.Closed, ClosedRow{d.needRow(v, &view.Frame, p), p.Closed,
					d.name(v, p.ClosedBy), p.Finding})
			case view.Older == 0:
				view.Older = view.Closed[problemPage-1].Problem.Number
			}
		}
	})
	for i := range view.Closed {
		c := &view.Closed[i]
		if err := d.explain(c.Problem, closed[i]); err != nil {
			return nil, err
		}
	}
	for i, p := range open {
		if _, err := d.told(view.Open[i].Problem, p); err != nil {
			return nil, err
		}
	}
	return view, nil
}

// problemsOf lists a department's problems, the newest first.
func problemsOf(v record.View, dept *rules.Department) []*rules.Problem {
	found := map[record.ID]*rules.Problem{}
	note := func(ids []record.ID) {
		for _, id := range ids {
			if p := rules.GetProblem(v, id); p != nil && p.Dept == dept.ID {
				found[id] = p
			}
		}
	}
	note(dept.Open)
	for _, id := range dept.Sealers {
		if s := rules.GetSealer(v, id); s != nil {
			note(s.Problems)
		}
	}
	list := make([]*rules.Problem, 0, len(found))
	for _, p := range found {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b *rules.Problem) int { return b.Number - a.Number })
	return list
}

func (d *Desk) needRow(v record.View, f *Frame, p *rules.Problem) NeedRow {
	row := NeedRow{Problem: d.problemRef(v, p)}
	if s := rules.GetSealer(v, p.Sealer); s != nil {
		standing := sealerRow(v, s, rules.Standing(v, s, f.Now))
		row.Sealer = &standing
	}
	return row
}
