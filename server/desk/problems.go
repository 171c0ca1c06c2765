package desk

import (
	"context"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// ProblemIn names a problem; every step carries it.
type ProblemIn struct {
	From
	Problem record.ID `param:"problem" json:"-"`
}

// step records one step of a problem. By link it is the link's problem.
func (d *Desk) step(ctx context.Context, who Caller, what use, in ProblemIn, step record.Body,
	seal map[string]string) (Done, error) {
	if !who.Link.IsZero() && in.Problem.IsZero() {
		in.Problem = who.Link
	}
	person, err := d.mayStep(who, what)
	if err != nil {
		return Done{}, err
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
	done, err := d.write(ctx, who, in.From, e, problemSubject(p), step,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: p.ID, Step: step,
				Who: person}, now)
		})
	return done, d.whoTook(err)
}

func problemSubject(p *rules.Problem) record.Subject {
	return record.Subject{Type: record.Problem, ID: p.ID}
}

// byLink lists what the bearer of a one-time link may do.
var byLink = map[use]bool{"MarkSeen": true, "Work": true, "HandBack": true, "AddNote": true}

// mayStep looks whether the caller may take a step; by link there is no person.
func (d *Desk) mayStep(who Caller, what use) (*rules.Person, error) {
	if !who.Link.IsZero() && byLink[what] {
		return nil, nil
	}
	return d.may(who, what)
}

// signs wants a name with what clinical engineering does: of who is signed in,
// of somebody a lead speaks for, or as typed by link.
func (d *Desk) signs(who Caller, what use, onBehalfOf record.ID, name string) error {
	p, err := d.mayStep(who, what)
	switch {
	case err != nil:
		return err
	case p == nil && strings.TrimSpace(name) == "":
		return needName()
	case p != nil && what == "MarkSeen" && onBehalfOf.IsZero() && !p.Has(record.Engineering):
		return fault.Field("on_behalf_of", "Say who has seen it.")
	}
	if onBehalfOf.IsZero() {
		return nil
	}
	if of := d.person(onBehalfOf); of == nil || of.Dept != who.Dept || !of.Has(record.Engineering) {
		return fault.Field("on_behalf_of", "That is nobody of clinical engineering.")
	}
	return nil
}

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
	if err := d.signs(who, "MarkSeen", in.OnBehalfOf, in.Name); err != nil {
		return Done{}, err
	}
	return d.step(ctx, who, "MarkSeen", in.ProblemIn, &record.Seen{},
		map[string]string{"name": in.Name})
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
	if err := d.signs(who, "Work", in.OnBehalfOf, in.Name); err != nil {
		return Done{}, err
	}
	body := &record.Work{Stage: in.Stage, Order: in.Order, Vendor: in.Vendor, Expected: in.Expected,
		Loaner: in.Loaner}
	return d.step(ctx, who, "Work", in.ProblemIn, body, map[string]string{"name": in.Name})
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
// processing makes the return checks. It ends the problem's links.
func (d *Desk) HandBack(ctx context.Context, who Caller, in HandBackIn) (Done, error) {
	if err := d.signs(who, "HandBack", in.OnBehalfOf, in.Name); err != nil {
		return Done{}, err
	}
	body := &record.HandedBack{Finding: in.Finding, Action: in.Action, Order: in.Order,
		Parts: in.Parts, Safety: in.Safety, Wiped: in.Wiped}
	done, err := d.step(ctx, who, "HandBack", in.ProblemIn, body, map[string]string{"name": in.Name})
	if err != nil {
		return done, err
	}
	return done, d.people.EndLinks(done.Problem) // each was good until here
}

// FixIn is a first-line fix.
type FixIn struct {
	ProblemIn
	Did  []string `form:"did" json:"did"`
	What string   `form:"was" json:"was"`
}

// FirstLineFix records what a lead or a trained person did.
func (d *Desk) FirstLineFix(ctx context.Context, who Caller, in FixIn) (Done, error) {
	return d.step(ctx, who, "FirstLineFix", in.ProblemIn,
		&record.FirstLineFix{Did: in.Did, Cause: in.What}, nil)
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

// FinishIn ends a problem.
type FinishIn struct {
	ProblemIn
	Reason string `form:"reason" json:"reason,omitempty"`
}

// CloseProblem records the third ending.
func (d *Desk) CloseProblem(ctx context.Context, who Caller, in FinishIn) (Done, error) {
	return d.step(ctx, who, "CloseProblem", in.ProblemIn,
		&record.ProblemClosed{Reason: in.Reason}, nil)
}

// LinkNoteIn is what clinical engineering adds by link: a note, a photograph, or
// both.
type LinkNoteIn struct {
	ProblemIn
	Name string `form:"name" json:"name,omitempty"`
}

// NoteByLink adds what the bearer of a one-time link says to its problem, under
// the name that they type.
func (d *Desk) NoteByLink(ctx context.Context, who Caller, in LinkNoteIn) (Done, error) {
	if who.Link.IsZero() {
		return Done{}, fault.New(fault.SignIn, "Sign in first.")
	}
	if strings.TrimSpace(in.Name) == "" {
		return Done{}, needName()
	}
	if in.Note == "" {
		return Done{}, needNote()
	}
	return d.step(ctx, who, "AddNote", in.ProblemIn, &record.Note{}, map[string]string{"name": in.Name})
}

// AddNote adds free text to a problem.
func (d *Desk) AddNote(ctx context.Context, who Caller, in ProblemIn) (Done, error) {
	if in.Note == "" {
		return Done{}, needNote()
	}
	return d.step(ctx, who, "AddNote", in, &record.Note{}, nil)
}
