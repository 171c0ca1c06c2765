package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// ProblemIn names a problem; every step carries it.
type ProblemIn struct {
	From
	Problem record.ID `param:"problem" json:"-"`
}

// step records one step of a problem.
func (d *Desk) step(ctx context.Context, who Caller, what use, in ProblemIn, step record.Body, seal map[string]string) (Done, error) {
	var person *rules.Person
	if who.Link.IsZero() || !byLink[what] {
		var err error
		if person, err = d.may(who, what); err != nil {
			return Done{}, err
		}
	}
	p, err := d.problemOf(who, in.Problem)
	if err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	if err := d.seal(&e, seal); err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in.From, e, record.Subject{Type: record.Problem, ID: p.ID}, step,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: p.ID, Step: step, Who: person}, now)
		})
}

// byLink lists what the bearer of a one-time link may do.
var byLink = map[use]bool{"MarkSeen": true, "Work": true, "HandBack": true, "AddNote": true}

// TagIn says that a sealer was tagged and switched off.
type TagIn struct {
	ProblemIn
}

// Tag records that the sealer was tagged and switched off.
func (d *Desk) Tag(ctx context.Context, who Caller, in TagIn) (Done, error) {
	return d.step(ctx, who, "Tag", in.ProblemIn, &record.Tagged{SwitchedOff: true}, nil)
}

// SeenIn says that clinical engineering knows. By link, Name is what was typed.
type SeenIn struct {
	ProblemIn
	Name string `form:"name" json:"name,omitempty"`
}

// MarkSeen records that clinical engineering has seen a problem.
func (d *Desk) MarkSeen(ctx context.Context, who Caller, in SeenIn) (Done, error) {
	if !who.Link.IsZero() && in.Name == "" {
		return Done{}, needName()
	}
	return d.step(ctx, who, "MarkSeen", in.ProblemIn, &record.Seen{}, map[string]string{"name": in.Name})
}

// WorkIn is a step of clinical engineering.
type WorkIn struct {
	ProblemIn
	Name     string      `form:"name" json:"name,omitempty"`
	Stage    string      `form:"stage" json:"stage"`
	Order    string      `form:"order" json:"order,omitempty"`
	Vendor   string      `form:"vendor" json:"vendor,omitempty"`
	Expected record.Date `form:"expected" json:"expected,omitzero"`
	Loaner   string      `form:"loaner" json:"loaner,omitempty"`
}

// Work records that clinical engineering is at work, or a vendor was called.
func (d *Desk) Work(ctx context.Context, who Caller, in WorkIn) (Done, error) {
	return d.step(ctx, who, "Work", in.ProblemIn, &record.Work{Stage: in.Stage, Order: in.Order, Vendor: in.Vendor,
		Expected: in.Expected, Loaner: in.Loaner}, map[string]string{"name": in.Name})
}

// HandBackIn ends clinical engineering's work.
type HandBackIn struct {
	ProblemIn
	Name    string `form:"name" json:"name,omitempty"`
	Finding string `form:"finding" json:"finding"`
	Action  string `form:"action" json:"action"`
	Order   string `form:"order" json:"order,omitempty"`
	Parts   string `form:"parts" json:"parts,omitempty"`
	Safety  string `form:"safety" json:"safety,omitempty"`
	Wiped   bool   `form:"wiped" json:"wiped,omitempty"`
}

// HandBack records that clinical engineering hands a sealer back; sterile
// processing makes the return checks.
func (d *Desk) HandBack(ctx context.Context, who Caller, in HandBackIn) (Done, error) {
	return d.step(ctx, who, "HandBack", in.ProblemIn, &record.HandedBack{Finding: in.Finding, Action: in.Action,
		Order: in.Order, Parts: in.Parts, Safety: in.Safety, Wiped: in.Wiped}, map[string]string{"name": in.Name})
}

// FixIn is a first-line fix.
type FixIn struct {
	ProblemIn
	Did  []string `form:"did" json:"did"`
	What string   `form:"was" json:"was"`
}

// FirstLineFix records what a lead or a trained person did.
func (d *Desk) FirstLineFix(ctx context.Context, who Caller, in FixIn) (Done, error) {
	return d.step(ctx, who, "FirstLineFix", in.ProblemIn, &record.FirstLineFix{Did: in.Did, Cause: in.What}, nil)
}

// JudgeIn is the lead's word on where a fault comes from.
type JudgeIn struct {
	ProblemIn
	Blame record.Blame `form:"blame" json:"blame"`
}

// Judge records whether the place or the heat is to blame.
func (d *Desk) Judge(ctx context.Context, who Caller, in JudgeIn) (Done, error) {
	return d.step(ctx, who, "Judge", in.ProblemIn, &record.Judged{Blame: in.Blame}, nil)
}

// ChangeHoldIn widens or narrows a hold window.
type ChangeHoldIn struct {
	ProblemIn
	FromTime string `form:"from" json:"from"`
	ToTime   string `form:"to" json:"to"`
	Reason   string `form:"reason" json:"reason"`
}

// ChangeHold records a window as a lead sets it.
func (d *Desk) ChangeHold(ctx context.Context, who Caller, in ChangeHoldIn) (Done, error) {
	dept := d.department(who.Dept)
	from, err := localTime(dept, in.FromTime)
	if err != nil {
		return Done{}, badTime("from")
	}
	to, err := localTime(dept, in.ToTime)
	if err != nil {
		return Done{}, badTime("to")
	}
	return d.step(ctx, who, "ChangeHold", in.ProblemIn, &record.HoldChanged{From: from, To: to, Reason: in.Reason}, nil)
}

// AnswerHoldIn answers the difference between the two windows.
type AnswerHoldIn struct {
	ProblemIn
	Accept bool   `form:"accept" json:"accept"`
	Reason string `form:"reason" json:"reason"`
}

// AnswerHold records whether the wider window counts.
func (d *Desk) AnswerHold(ctx context.Context, who Caller, in AnswerHoldIn) (Done, error) {
	return d.step(ctx, who, "AnswerHold", in.ProblemIn, &record.HoldAnswered{Accept: in.Accept, Reason: in.Reason}, nil)
}

// SettleIn settles some packs of a hold.
type SettleIn struct {
	ProblemIn
	Packs  record.ID `form:"packs" json:"packs,omitzero"`
	Count  int       `form:"count" json:"count"`
	Where  string    `form:"where" json:"where,omitempty"`
	End    string    `form:"end" json:"end"`
	Reason string    `form:"reason" json:"reason,omitempty"`
}

// SettlePacks records what became of some packs.
func (d *Desk) SettlePacks(ctx context.Context, who Caller, in SettleIn) (Done, error) {
	return d.step(ctx, who, "SettlePacks", in.ProblemIn, &record.PackSettled{Packs: in.Packs, Count: in.Count,
		Where: in.Where, End: in.End, Reason: in.Reason}, nil)
}

// FinishIn ends a hold or a problem.
type FinishIn struct {
	ProblemIn
	Reason string `form:"reason" json:"reason,omitempty"`
}

// FinishPacks records that every pack of a hold has an end. It waits for the
// lead's answer where the windows differ.
func (d *Desk) FinishPacks(ctx context.Context, who Caller, in FinishIn) (Done, error) {
	if _, err := d.may(who, "FinishPacks"); err != nil {
		return Done{}, err
	}
	p, err := d.problemOf(who, in.Problem)
	if err != nil {
		return Done{}, err
	}
	hold, err := d.hold(p)
	if err != nil {
		return Done{}, err
	}
	if hold.Open {
		return Done{}, waitsForAnswer()
	}
	sum := sha256.Sum256(fmt.Append(nil, hold.Packs))
	return d.step(ctx, who, "FinishPacks", in.ProblemIn, &record.PacksSettled{From: hold.Counts.From, To: hold.Counts.To,
		Digest: hex.EncodeToString(sum[:]), Size: in.Seen, Packs: hold.Total, Reason: in.Reason}, nil)
}

// CloseProblem records the third ending.
func (d *Desk) CloseProblem(ctx context.Context, who Caller, in FinishIn) (Done, error) {
	return d.step(ctx, who, "CloseProblem", in.ProblemIn, &record.ProblemClosed{Reason: in.Reason}, nil)
}

// AddNote adds free text to a problem.
func (d *Desk) AddNote(ctx context.Context, who Caller, in ProblemIn) (Done, error) {
	if in.Note == "" {
		return Done{}, needNote()
	}
	return d.step(ctx, who, "AddNote", in, &record.Note{}, nil)
}

// hold draws a problem's hold list from the sealer's records.
func (d *Desk) hold(p *rules.Problem) (rules.Hold, error) {
	h, err := d.history(p)
	if err != nil {
		return rules.Hold{}, err
	}
	return rules.HoldOf(p, h), nil
}

// history reads the sealer's records back as far as the problem's window can
// reach: to the last good check before the bad pack that could have seen it.
func (d *Desk) history(p *rules.Problem) (rules.History, error) {
	h := rules.History{Now: d.now()}
	var s *rules.Sealer
	d.ledger.View(func(v record.View) { s = rules.GetSealer(v, p.Sealer) })
	if s == nil {
		return h, nil
	}
	h.Begins = s.Begins
	for r, err := range d.ledger.Chain(sealerSubject(s)) {
		if err != nil {
			return h, err
		}
		h.Add(&r)
		if h.Enough(p) {
			break
		}
	}
	h.Sort()
	return h, nil
}
