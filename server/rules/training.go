package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Training is a sign-off of a person that was not taken back. Due is the last
// operating day it counts for, 0 if it has no end.
type Training struct {
	Type record.SealerType `json:"type"`
	For  record.Skill      `json:"for"`
	On   record.Date       `json:"on"`
	Due  record.Date       `json:"due,omitzero"`
	Seq  record.Seq        `json:"seq"` // the record that says so
}

// Training returns the sign-off of a person for one thing at a type of sealer,
// also one that has run out; nil if there is none.
func (p *Person) Training(what record.Skill, t record.SealerType) *Training {
	for i := range p.Trained {
		if s := &p.Trained[i]; s.For == what && s.Type == t {
			return s
		}
	}
	return nil
}

func (p *Person) signedOff(what record.Skill, t record.SealerType, day record.Date) bool {
	s := p.Training(what, t)
	return s != nil && s.On <= day && (s.Due == 0 || day <= s.Due)
}

// SignedOff reports whether a person may do something at a type of sealer on a
// day, as far as training goes. Until the department asks for sign-offs everybody
// may check, and who was added as trained may make a first-line fix. A lead may
// always make one.
func (d *Department) SignedOff(p *Person, what record.Skill, t record.SealerType, day record.Date) bool {
	if p == nil {
		return !d.AskTraining && what == record.ToCheck
	}
	if what == record.ToFix && p.Has(record.Lead) || p.signedOff(what, t, day) {
		return true
	}
	return !d.AskTraining && (what == record.ToCheck || p.FirstLine)
}

// notSignedOff is what somebody is told who is not.
func notSignedOff() error {
	return fault.New(fault.Forbidden, "You are not signed off for this type of sealer, so a good check of yours would not count. "+
		"Ask a lead, or somebody who is. A fail or a bad seal counts from everybody.")
}

// maker is who made what an entry tells of: the person it was entered for.
func (e *Entry) maker() record.ID {
	if !e.OnBehalfOf.IsZero() {
		return e.OnBehalfOf
	}
	return e.By
}

// trainingIsSound looks at a sign-off of a person.
func trainingIsSound(v record.View, d *Department, person record.ID, t *record.Trained) error {
	if err := trainedForSomething(t.Types, t.For); err != nil {
		return err
	}
	for _, by := range []struct {
		field string
		id    record.ID
	}{{"shown_by", t.ShownBy}, {"assessed_by", t.AssessedBy}} {
		if by.id.IsZero() {
			continue
		}
		if by.id == person {
			return fault.Field(by.field, "That has to be somebody else.")
		}
		if p := GetPerson(v, by.id); p == nil || p.Dept != d.ID {
			return fault.Field(by.field, "Choose somebody of this department.")
		}
	}
	switch {
	case t.On == 0:
		return fault.Field("on", "Give the day of the assessment.")
	case t.DueAgain != 0 && t.DueAgain < t.On:
		return fault.Field("due_again", "That is before the day of the assessment.")
	}
	return nil
}

func trainedForSomething(types []record.SealerType, skills []record.Skill) error {
	if len(types) == 0 || slices.ContainsFunc(types, func(t record.SealerType) bool { return !slices.Contains(record.SealerTypes(), t) }) {
		return fault.Field("types", "Choose the types of sealers.")
	}
	if len(skills) == 0 || slices.ContainsFunc(skills, func(s record.Skill) bool { return !slices.Contains(record.Skills(), s) }) {
		return fault.Field("for", "Choose what it is for.")
	}
	return nil
}

// trainingEnds looks at the end of a sign-off.
func trainingEnds(p *Person, b *record.TrainingEnded) error {
	if err := trainedForSomething(b.Types, b.For); err != nil {
		return err
	}
	if strings.TrimSpace(b.Why) == "" {
		return fault.Field("why", "Give the reason: it stays with your name.")
	}
	for _, t := range b.Types {
		for _, what := range b.For {
			if p.Training(what, t) != nil {
				return nil
			}
		}
	}
	return fault.New(fault.Stale, "There is no such sign-off any more.")
}

// train puts sign-offs into a copy of the list, in place of earlier ones for the
// same thing.
func (p *Person) train(r *record.Record, b *record.Trained) {
	p.Trained = p.untrained(b.Types, b.For)
	for _, t := range b.Types {
		for _, what := range b.For {
			p.Trained = append(p.Trained, Training{Type: t, For: what, On: b.On, Due: b.DueAgain, Seq: r.Seq})
		}
	}
}

// untrained is a copy of the list without what ends.
func (p *Person) untrained(types []record.SealerType, skills []record.Skill) []Training {
	return slices.DeleteFunc(slices.Clone(p.Trained), func(t Training) bool {
		return slices.Contains(types, t.Type) && slices.Contains(skills, t.For)
	})
}

// SaidAccept is a lead's word for a check that waits because its maker was not
// signed off. Check is the record of it.
type SaidAccept struct {
	Entry
	Sealer record.ID
	Check  record.Record
	Reason string
}

// AcceptCheck lets such a check count as if its maker had been signed off: it
// gives what a check of that time can still give, and no more. It bounds no hold.
func AcceptCheck(v record.View, c SaidAccept, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	body, _ := c.Check.Content()
	check, ok := body.(*record.Check)
	waits := slices.Contains(s.Waiting, c.Check.Seq)
	made := Entry{By: c.Check.By, OnBehalfOf: c.Check.OnBehalfOf, Via: c.Check.Via, Dev: c.Check.Dev, DevN: c.Check.DevN,
		Seen: c.Check.Seen, Happened: c.Check.Happened, Queued: true}
	switch {
	case !ok || !waits:
		return nil, fault.New(fault.Stale, "This check does not wait any more. Look at the sealer again.")
	case made.maker() == c.By:
		return nil, fault.New(fault.Forbidden, "Your own check has to be accepted by somebody else.")
	case strings.TrimSpace(c.Reason) == "":
		return nil, fault.Field("reason", "Say why it can count: it stays with your name.")
	}
	dr, err := c.draft(d, s.subject(), &record.CheckAccepted{Check: c.Check.Seq, Pouch: check.Pouch, Reason: c.Reason}, now)
	if err != nil {
		return nil, err
	}
	before := *s // as if the check came just now, itself not yet on record
	before.Touches = slices.DeleteFunc(slices.Clone(s.Touches), func(t Touch) bool { return t.Seq == c.Check.Seq })
	told := c.Check
	told.Effect = record.Effect{}
	pass(v, &before, d, Standing(v, s, now), &SaidCheck{Entry: made, Sealer: s.ID, Check: *check}, &told, now)
	dr.Record.Effect.Nothing, dr.Record.Effect.Joins = told.Effect.Nothing, told.Effect.Joins
	dr.Record.Effect.Readiness = told.Effect.Readiness
	return []Draft{dr}, nil
}
