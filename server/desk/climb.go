package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Climb is a ladder trial and what it shows.
type Climb struct {
	Line     Line     `json:"line"`
	Passed   []string `json:"passed"` // settings, rising
	Over     string   `json:"over,omitempty"`
	Proposed string   `json:"proposed,omitempty"` // as a person reads it
	Value    string   `json:"value,omitempty"`
	Unit     string   `json:"unit,omitempty"`
	Warnings []string `json:"warnings"`
	Nothing  string   `json:"nothing,omitempty"` // why it proposes nothing
}

func climb(l Line) Climb {
	view := Climb{Line: l}
	ladder, err := rules.LadderOf(l.Body.(*record.LadderTrial))
	if err != nil {
		view.Nothing = messageOf(err)
		return view
	}
	c, err := ladder.Assess()
	if err != nil {
		view.Nothing = messageOf(err)
		return view
	}
	for _, q := range c.Passed {
		view.Passed = append(view.Passed, q.String())
	}
	if !c.FirstOver.Missing() {
		view.Over = c.FirstOver.String()
	}
	view.Proposed, view.Value, view.Unit = c.Proposal.String(), c.Proposal.Value.String(), string(c.Proposal.Unit)
	for _, w := range c.Warnings {
		view.Warnings = append(view.Warnings, w.Message)
	}
	return view
}

// LadderView is a ladder trial of a sealer.
type LadderView struct {
	Frame
	Code   string `json:"code"`
	Number string `json:"number"`
	Climb
}

// Ladder draws a ladder trial of a sealer.
func (d *Desk) Ladder(who Caller, code string, seq record.Seq) (*LadderView, error) {
	if _, err := d.may(who, "Settings"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	r, err := d.ofSealer(s, seq)
	if err != nil {
		return nil, err
	}
	if _, err := bodyOf[*record.LadderTrial](&r); err != nil {
		return nil, err
	}
	view := &LadderView{Code: s.Code, Number: s.Number, Climb: climb(d.lines([]record.Record{r})[0])}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	return view, nil
}
