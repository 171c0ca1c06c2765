package rules

import (
	"slices"

	"tidemark/server/record"
)

func evolveProblem(st record.Stage, r *record.Record, body record.Body) {
	if r.Effect.Opens > 0 {
		p := openedBy(r, body)
		st.Set(record.Subject{Type: record.Problem, ID: p.ID}, p)
		return
	}
	id := r.Effect.Joins
	if r.Subject.Type == record.Problem {
		id = r.Subject.ID
	}
	old := GetProblem(st, id)
	if old == nil {
		return
	}
	p := *old
	p.apply(r, body)
	st.Set(record.Subject{Type: record.Problem, ID: p.ID}, &p)
}

func openedBy(r *record.Record, body record.Body) *Problem {
	p := &Problem{ID: r.ID, Number: r.Effect.Opens, Dept: r.Dept, Opened: r.Seq, OpenedAt: r.Happened.From, OpenedBy: r.By,
		Round: Round{Cause: r.ID, At: r.At}, Out: stops(r.Effect.Readiness)}
	if r.Subject.Type == record.Sealer {
		p.Sealer = r.Subject.ID
	}
	if a, ok := anchorOf(r, body); ok {
		p.Anchors, p.Pouch = []Anchor{a}, a.Pouch
	}
	switch b := body.(type) {
	case *record.BadSeal:
		p.What, p.Kind, p.Place, p.AtCM = WhatBadSeal, b.Kind, b.Place, b.AtCM
		p.Lot, p.Found, p.Sealed = b.Lot, b.Found, b.SealedAt
		if b.MakersSeal {
			p.What = WhatMakers
		}
	case *record.Check:
		p.What, p.Kind, p.Place, p.AtCM = WhatFailedCheck, b.Kind, b.Place, b.AtCM
		if b.Outcome == record.NotValid {
			p.What = WhatNotValid
		}
	case *record.Packs:
		p.What, p.Pouch = WhatUnready, b.Pouch
		span := r.Happened
		p.Sealed = &span
	case *record.FoundJudged:
		p.What, p.Blame, p.Ends = WhatCalibration, record.BlameHeat, r.Happened.To
		if b.Left == record.Missed {
			p.Ends = max(p.Ends, r.At) // it was sealed on until this was written down
		}
	}
	return p
}

// anchorOf is when the bad pack behind a fault was sealed: as said, just now if
// it was found at the bench or in a check, otherwise nobody knows.
func anchorOf(r *record.Record, body record.Body) (Anchor, bool) {
	a := Anchor{Seq: r.Seq, From: r.Happened.From, To: r.Happened.To}
	if next := r.Effect.Readiness; next != nil {
		a.Pouch = next.Pouch
	}
	switch b := body.(type) {
	case *record.BadSeal:
		a.Pouch, a.Load, a.Kind, a.Place = orID(b.Pouch, a.Pouch), b.Load, b.Kind, b.Place
		switch {
		case b.SealedAt != nil:
			a.From, a.To = b.SealedAt.From, b.SealedAt.To
		case b.Found != "" && b.Found != record.AtBench:
			a.From = 0
		}
	case *record.Check:
		a.Pouch, a.Kind, a.Place = b.Pouch, b.Kind, b.Place
	case *record.FoundJudged:
		a.Pouch, a.From = b.Pouch, b.Since
	default:
		return a, false
	}
	return a, true
}

// apply puts a record's facts into a copy of the problem.
func (p *Problem) apply(r *record.Record, body record.Body) {
	switch b := body.(type) {
	case *record.Check, *record.BadSeal, *record.CheckAccepted:
		p.applyFault(r, body)
	case *record.PacksTurnedUp:
		p.reopen()
	case *record.Packs:
		p.Joined = with(p.Joined, r.Seq)
		p.reopen()
	case *record.Tagged:
		p.Tagged = r.Happened.To
		p.ends(r)
	case *record.Seen:
		p.Seen = with(p.Seen, signedBy(r))
	case *record.Work:
		p.Stage, p.Vendor, p.Expected = b.Stage, or(b.Vendor, p.Vendor), b.Expected
		p.Order, p.Loaner = or(b.Order, p.Order), or(b.Loaner, p.Loaner)
		p.Taken = &Taken{signedBy(r), r.Seq}
	case *record.Called:
		p.Told = with(p.Told, ToldTo{Called: *b, At: r.At})
		p.Round.At, p.Round.Next = r.At, b.N+1
	case *record.HandedBack:
		p.Out, p.Taken = false, nil
		p.Stage, p.Finding, p.Action, p.HandedBack = StageHandedBack, b.Finding, b.Action, r.Happened.To
		p.Order, p.Fixed = or(b.Order, p.Order), r.Happened.To
		p.ends(r)
	case *record.FirstLineFix:
		p.Out = false
		p.Stage, p.Fixed = StageFirstLine, r.Happened.To
		p.ends(r)
	case *record.Judged:
		p.Blame = b.Blame
	case *record.HoldChanged:
		p.Hold, p.Answer = &HoldSpan{From: b.From, To: b.To, Reason: b.Reason, By: r.By}, nil
	case *record.HoldAnswered:
		p.Answer = &HoldAnswer{b.Accept, b.Reason, r.By}
	case *record.PackSettled:
		p.Settled = append(slices.Clone(p.Settled), Settled{*b, r.Seq, r.By, r.Happened.To})
	case *record.PacksSettled:
		p.SettledAt, p.SettledBy, p.SettledFrom, p.SettledTo = r.Happened.To, r.By, b.From, b.To
	case *record.BulkAssessed:
		p.Assessed = &Assessed{*b, r.Seq, r.By, r.Happened.To}
	case *record.BulkConfirmed:
		p.confirm(r, b)
	case *record.ProblemClosed:
		p.Closed, p.ClosedBy = r.Happened.To, r.By
	case *record.Corrected, *record.Voided, *record.VoidConfirmed:
		p.applyAmended(r, body)
	case *record.Photograph:
		p.Photos = append(slices.Clone(p.Photos), Photo{Record: r.ID, Of: b.Of, SHA256: b.SHA256})
	}
}

// confirm lets what one person assessed hold under a second name.
func (p *Problem) confirm(r *record.Record, b *record.BulkConfirmed) {
	a := p.Assessed
	if a == nil || a.Seq != b.Assessed {
		return
	}
	if a.Packs > 0 {
		p.Settled = append(slices.Clone(p.Settled), Settled{record.PackSettled{Count: a.Packs, End: a.End,
			Reason: a.Reason}, r.Seq, a.By, r.Happened.To})
	}
	p.SettledAt, p.SettledBy, p.SettledFrom, p.SettledTo = r.Happened.To, r.By, a.From, a.To
	p.Assessed = nil
}

// ends notes until when somebody may have sealed on. What is told late takes no
// pack off the list.
func (p *Problem) ends(r *record.Record) {
	if p.Ends == 0 && !r.Late {
		p.Ends = r.Happened.To
	}
}

// reopen undoes the endings that a new fact about packs contradicts.
func (p *Problem) reopen() {
	p.SettledAt, p.SettledBy, p.Closed, p.ClosedBy, p.Assessed = 0, record.ID{}, 0, record.ID{}, nil
}

// applyFault joins a later check or report to the problem: a good return check
// may end the sealer's absence, anything bad opens what was settled.
func (p *Problem) applyFault(r *record.Record, body record.Body) {
	p.Joined = append(slices.Clone(p.Joined), r.Seq)
	next := r.Effect.Readiness
	if next != nil && next.State == record.Ready {
		p.Returned, p.ReturnedBy = r.Happened.To, r.By
		return
	}
	if !r.Effect.Takes {
		return
	}
	if a, ok := anchorOf(r, body); ok {
		p.Anchors = with(p.Anchors, a)
	}
	if p.Hold != nil {
		stale := *p.Hold
		stale.Stale = true
		p.Hold = &stale
	}
	p.reopen()
	p.Answer = nil
	if next != nil {
		p.Returned, p.ReturnedBy = 0, record.ID{}
	}
	if stops(next) && !p.Out {
		p.Out, p.Round, p.Seen, p.Taken = true, Round{Cause: r.ID, At: r.At}, nil, nil
	}
	if next != nil && next.State == record.OutOfService && (p.Stage == StageHandedBack || p.Stage == StageFirstLine) {
		p.OnlyCE, p.Stage, p.Tagged, p.Ends = true, "", 0, 0
	}
	switch b := body.(type) {
	case *record.Check:
		if b.Outcome == record.Fail {
			p.learn(record.Fault(or(string(b.Kind), string(record.DontKnow))), b.Place, b.AtCM)
		}
	case *record.BadSeal:
		p.learn(b.Kind, b.Place, b.AtCM)
	}
}

// signedBy is whose word of clinical engineering a record is.
func signedBy(r *record.Record) SeenBy {
	return SeenBy{By: orID(r.OnBehalfOf, r.By), Name: r.Sealed["name"], Via: r.Via, At: r.Happened.To}
}

// stops reports whether a sealer is out of service from here on.
func stops(next *record.Readiness) bool {
	return next != nil && (next.State == record.OutOfService || next.State == record.WithEngineering)
}

// learn takes from a later fault what was not known of the first.
func (p *Problem) learn(kind record.Fault, place record.Place, atCM string) {
	if p.Kind == "" {
		p.Kind = kind
	}
	if p.Place == record.NoPlace && place != record.NoPlace {
		p.Place, p.AtCM = place, atCM
	}
}

// Stages of Problem.Stage beside those of record.Work.
const (
	StageHandedBack = "handed-back"
	StageFirstLine  = "first-line"
)
