package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"iter"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// ChangeHoldIn widens or narrows a hold window: from FromTime to ToTime, or
// Window, both in one as an interval of ISO 8601 ("from/to").
type ChangeHoldIn struct {
	ProblemIn
	Window   string `form:"window" json:"window,omitempty"`
	FromTime string `form:"from" json:"from,omitempty"`
	ToTime   string `form:"to" json:"to,omitempty"`
	Reason   string `form:"reason" json:"reason"`
}

// ChangeHold records a window as a lead sets it.
func (d *Desk) ChangeHold(ctx context.Context, who Caller, in ChangeHoldIn) (Done, error) {
	if in.Window != "" {
		in.FromTime, in.ToTime, _ = strings.Cut(in.Window, "/")
	}
	dept := d.department(who.Dept)
	from, err := localTime(dept, in.FromTime)
	if err != nil {
		return Done{}, badTime("from")
	}
	to, err := localTime(dept, in.ToTime)
	if err != nil {
		return Done{}, badTime("to")
	}
	return d.step(ctx, who, "ChangeHold", in.ProblemIn,
		&record.HoldChanged{From: from, To: to, Reason: in.Reason}, nil)
}

// AnswerHoldIn answers the difference between the two windows.
type AnswerHoldIn struct {
	ProblemIn
	Accept bool   `form:"accept" json:"accept"`
	Reason string `form:"reason" json:"reason"`
}

// AnswerHold records whether the wider window counts.
func (d *Desk) AnswerHold(ctx context.Context, who Caller, in AnswerHoldIn) (Done, error) {
	return d.step(ctx, who, "AnswerHold", in.ProblemIn,
		&record.HoldAnswered{Accept: in.Accept, Reason: in.Reason}, nil)
}

// SettleIn settles packs of a hold: Count of them, from the entry Packs of the
// pack log or, without Packs, from anywhere on the list; or all that are left of
// the entries Rows and of the loads Loads; or All that are left.
type SettleIn struct {
	ProblemIn
	Packs  record.ID   `form:"packs" json:"packs,omitzero"`
	Rows   []record.ID `form:"rows" json:"rows,omitempty"`
	Loads  []string    `form:"loads" json:"loads,omitempty"`
	All    bool        `form:"all" json:"all,omitempty"`
	Count  int         `form:"count" json:"count,omitempty"`
	Where  string      `form:"where" json:"where,omitempty"`
	End    string      `form:"end" json:"end"`
	Reason string      `form:"reason" json:"reason,omitempty"`
}

// maxRows is how many entries can be settled at once: each is a record.
const maxRows = 400

// SettlePacks records what became of some packs. Packs that were settled by
// somebody else meanwhile are refused as stale, and it is told by whom.
func (d *Desk) SettlePacks(ctx context.Context, who Caller, in SettleIn) (Done, error) {
	person, err := d.may(who, "SettlePacks")
	if err != nil {
		return Done{}, err
	}
	step := func(packs record.ID, count int) record.Body {
		return &record.PackSettled{Packs: packs, Count: count, Where: in.Where, End: in.End, Reason: in.Reason}
	}
	again := func(r record.Body) record.Body {
		if b, ok := r.(*record.PackSettled); ok { // the packs have an end by now
			return step(b.Packs, b.Count)
		}
		return nil
	}
	done, err := d.ofPacks(ctx, who, person, &in, step, again)
	if fault.Is(err, fault.Stale) {
		err = d.whoSettled(in.Problem, err)
	}
	return done, err
}

// ofPacks writes a step for each entry that a form names. Again makes the first
// step of what was written down already.
func (d *Desk) ofPacks(ctx context.Context, who Caller, person *rules.Person, in *SettleIn,
	step func(packs record.ID, count int) record.Body, again func(record.Body) record.Body) (Done, error) {
	p, err := d.problemOf(who, in.Problem)
	if err != nil {
		return Done{}, err
	}
	hold, err := d.hold(p)
	if err != nil {
		return Done{}, err
	}
	said, err := in.said(p, hold, step)
	if body := again(d.written(in.ID)); body != nil {
		said, err = []rules.SaidOfProblem{{Step: body}}, nil
	}
	if err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in.From, e, problemSubject(p), said[0].Step,
		func(v record.View, e rules.Entry, now record.Time) (drafts []rules.Draft, err error) {
			for _, c := range said {
				c.Entry, c.Problem, c.Who = e, p.ID, person
				more, err := rules.Step(v, c, now)
				if err != nil {
					return nil, err
				}
				drafts = append(drafts, more...)
			}
			return drafts, nil
		})
}

// whoSettled tells who was quicker.
func (d *Desk) whoSettled(problem record.ID, err error) error {
	var p *rules.Problem
	name := ""
	d.ledger.View(func(v record.View) {
		if p = rules.GetProblem(v, problem); p != nil && len(p.Settled) > 0 {
			name = d.name(v, p.Settled[len(p.Settled)-1].By)
		}
	})
	if name == "" {
		return err
	}
	last := p.Settled[len(p.Settled)-1]
	at := last.At.In(rules.Zone(d.department(p.Dept).Zone)).Format("15:04")
	return fault.Wrap(err, fault.Stale, "%s settled %d at %s: %s. So many are not left. Look at the list again.",
		name, last.Count, at, strings.ReplaceAll(last.End, "-", " "))
}

// said makes a step of each entry of the list that is meant.
func (in *SettleIn) said(p *rules.Problem, hold rules.Hold, step func(record.ID, int) record.Body) ([]rules.SaidOfProblem, error) {
	rows := in.rows(hold)
	left, ended := leftOf(p, hold)
	total := hold.Total + offList(p, hold) // as the rules count: with all that has an end
	said := func(packs record.ID, count, listed, logged int) rules.SaidOfProblem {
		return rules.SaidOfProblem{Listed: listed, Logged: logged, Step: step(packs, count)}
	}
	switch {
	case in.All:
		return []rules.SaidOfProblem{said(record.ID{}, left, total, 0)}, nil
	case len(rows) == 0:
		return []rules.SaidOfProblem{said(in.Packs, in.Count, total, logged(hold, in.Packs))}, nil
	case len(rows) > maxRows:
		return nil, fault.Field("rows", "At most %d entries at once.", maxRows)
	case len(rows) > 1 && in.Count > 0:
		return nil, fault.Field("count", "Tick one entry for a part of it.")
	}
	var list []rules.SaidOfProblem
	before := 0 // settled by this very command
	for _, id := range rows {
		of := logged(hold, id)
		count := of - ended[id]
		if in.Count > 0 {
			count = in.Count
		}
		if count < 1 && len(in.Loads) > 0 {
			continue // that one of the load has an end
		}
		if count < 1 {
			return nil, fault.New(fault.Stale, "One of these was settled meanwhile. Look at the list again.")
		}
		list = append(list, said(id, count, max(1, total-before), of))
		before += count
	}
	if len(list) == 0 {
		return nil, fault.New(fault.Stale, "These were settled meanwhile. Look at the list again.")
	}
	return list, nil
}

// rows are the entries that are meant, those of whole loads among them, each once.
func (in *SettleIn) rows(hold rules.Hold) []record.ID {
	rows := slices.Clone(in.Rows)
	for _, k := range hold.Packs {
		if k.Load != "" && slices.Contains(in.Loads, k.Load) && !slices.Contains(rows, k.ID) {
			rows = append(rows, k.ID)
		}
	}
	return rows
}

// written is the content of a record that is there already, nil if there is none.
func (d *Desk) written(id record.ID) record.Body {
	r, found, err := d.ledger.Find(id)
	if err != nil || !found {
		return nil // whoever writes finds out again
	}
	body, err := r.Content()
	if err != nil {
		return nil
	}
	return body
}

// logged is how many packs an entry of the list counts, 0 if it is none of it.
func logged(hold rules.Hold, entry record.ID) int {
	for _, k := range hold.Packs {
		if k.ID == entry {
			return k.Count
		}
	}
	return 0
}

// leftOf tells how many packs of the list have no end, and how many of each
// entry have one. The end of an entry that left the list with what named it (a
// list that was taken back) settles none of the others.
func leftOf(p *rules.Problem, hold rules.Hold) (left int, ended map[record.ID]int) {
	left, ended = hold.Total, map[record.ID]int{}
	for _, s := range p.Settled {
		ended[s.Packs] += s.Count
	}
	left -= allEnded(p) - offList(p, hold)
	return max(0, left), ended
}

func allEnded(p *rules.Problem) (n int) {
	for _, s := range p.Settled {
		n += s.Count
	}
	return n
}

// offList counts packs that have an end and whose entry is not on the list.
func offList(p *rules.Problem, hold rules.Hold) (n int) {
	if len(p.Settled) == 0 {
		return 0
	}
	on := map[record.ID]bool{{}: true} // no entry: from anywhere on the list
	for _, k := range hold.Packs {
		on[k.ID] = true
	}
	for _, s := range p.Settled {
		if !on[s.Packs] {
			n += s.Count
		}
	}
	return n
}

// FinishPacks records that every pack of a hold has an end. It waits for the
// lead's answer where the windows differ, and for the packs that are left.
func (d *Desk) FinishPacks(ctx context.Context, who Caller, in FinishIn) (Done, error) {
	if _, err := d.may(who, "FinishPacks"); err != nil {
		return Done{}, err
	}
	p, err := d.problemOf(who, in.Problem)
	if err != nil {
		return Done{}, err
	}
	if b, ok := d.written(in.ID).(*record.PacksSettled); ok {
		again := *b
		again.Reason = in.Reason
		return d.step(ctx, who, "FinishPacks", in.ProblemIn, &again, nil)
	}
	hold, err := d.hold(p)
	if err != nil {
		return Done{}, err
	}
	if hold.Open {
		return Done{}, waitsForAnswer()
	}
	if left, _ := leftOf(p, hold); left > 0 {
		return Done{}, fault.New(fault.Stale, "%d packs of the list have no end yet.", left)
	}
	sum := sha256.Sum256(fmt.Append(nil, hold.Packs))
	return d.step(ctx, who, "FinishPacks", in.ProblemIn, &record.PacksSettled{
		From: hold.Counts.From, To: hold.Counts.To, Digest: hex.EncodeToString(sum[:]),
		Size: in.Seen, Packs: hold.Total, Reason: in.Reason}, nil)
}

// hold draws a problem's hold list from the sealer's records and from the lists of
// packs that came in; more are lists that are about to.
func (d *Desk) hold(p *rules.Problem, more ...imported) (rules.Hold, error) {
	h, err := d.history(p, func(h *rules.History) bool { return h.Enough(p) })
	if err != nil {
		return rules.Hold{}, err
	}
	hold := rules.HoldOf(p, h)
	var s *rules.Sealer
	d.ledger.View(func(v record.View) { s = rules.GetSealer(v, p.Sealer) })
	if s == nil || p.What == rules.WhatUnready {
		return hold, nil
	}
	packs, err := d.listedPacks(s, hold.Reach(), more...)
	if err != nil || len(packs) == 0 {
		return hold, err
	}
	return rules.HoldOf(p, withListed(h, packs)), nil
}

// history reads the sealer's records back until there is enough of them.
func (d *Desk) history(p *rules.Problem, enough func(*rules.History) bool) (rules.History, error) {
	h := rules.History{Now: d.now()}
	var s *rules.Sealer
	d.ledger.View(func(v record.View) { s = rules.GetSealer(v, p.Sealer) })
	if s == nil {
		return h, nil
	}
	h.Begins = s.Begins
	return h, fill(&h, d.ledger.Chain(sealerSubject(s)), enough)
}

// fill takes a sealer's records, the newest first, into its history.
func fill(h *rules.History, chain iter.Seq2[record.Record, error], enough func(*rules.History) bool) error {
	for r, err := range chain {
		if err != nil {
			return err
		}
		h.Add(&r)
		if enough(h) {
			break
		}
	}
	h.Sort()
	return nil
}
