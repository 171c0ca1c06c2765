package rules

import (
	"slices"

	"tidemark/server/record"
)

// History is what a hold window is drawn from: the sealer's checks and logged
// packs as they stand in the ledger, corrections applied. It is a query, never
// state: a fact that arrives late changes the answer.
type History struct {
	Begins record.Time // when records of this sealer begin
	Checks []CheckFact // in order of Began
	Packs  []PackFact
	Now    record.Time
}

// CheckFact is a check as far as a hold window looks at it.
type CheckFact struct {
	Seq       record.Seq
	Pouch     record.ID
	Good      bool
	Began     record.Time
	Places    []record.Place
	Tests     []record.Test
	Witnessed bool // not late, not imported, not taken back
}

// PackFact is an entry of the pack log.
type PackFact struct {
	ID    record.ID
	Pouch record.ID
	Count int
	At    record.Span
	Load  string
	Own   bool // it opened a problem of its own
}

// Bounds are the ends of a window. A check is None where there is no such check
// and the window is open at that end.
type Bounds struct {
	From, To           record.Time
	FromCheck, ToCheck record.Seq
}

// Hold is the answer: what is surely to be kept aside, what might have to be,
// and the packs known to lie in the window that counts.
type Hold struct {
	Proposed Bounds
	Possible Bounds // never narrower than Proposed
	Counts   Bounds // the one that counts, after the lead's answers
	Begins   record.Time
	NoCheck  bool // no check before the pack is on record: look before Begins, too
	Packs    []PackFact
	Apart    []PackFact // in the window, but on the list of a problem of their own
	Total    int        // at least so many Packs
	Open     bool       // the difference waits for a lead's answer
}

// HoldOf draws the hold list of a problem. A problem about packs that were
// sealed while the sealer was not ready holds those alone.
func HoldOf(p *Problem, h History) Hold {
	if p.What == WhatUnready {
		return unreadyHold(p, h)
	}
	sealedFrom, sealedTo := p.OpenedAt, p.OpenedAt
	if p.Sealed != nil {
		sealedFrom, sealedTo = p.Sealed.From, p.Sealed.To
	}
	end := p.end(h.Now)
	hold := Hold{Begins: h.Begins}
	hold.Proposed = window(h, sealedFrom, sealedTo, end, func(c CheckFact) bool { return c.Pouch == p.Pouch })
	hold.Possible = window(h, sealedFrom, sealedTo, end, func(c CheckFact) bool {
		return c.Pouch == p.Pouch && couldSee(c, p.Place, p.Kind)
	})
	hold.Possible.widen(hold.Proposed)
	hold.Counts = hold.Proposed
	switch {
	case p.Hold != nil:
		hold.Counts = Bounds{From: p.Hold.From, To: p.Hold.To, FromCheck: record.None, ToCheck: record.None}
	case p.Answer != nil && p.Answer.Accept:
		hold.Counts = hold.Possible
	}
	differ := hold.Possible.From < hold.Proposed.From || hold.Possible.To > hold.Proposed.To
	hold.Open = differ && p.Answer == nil && p.Hold == nil
	hold.NoCheck = hold.Counts.FromCheck == record.None && p.Hold == nil
	hold.list(p, h.Packs)
	return hold
}

// list puts the packs of the window that counts on the list.
func (hold *Hold) list(p *Problem, packs []PackFact) {
	for _, k := range packs {
		switch {
		case !p.concerns(k.Pouch) || k.At.To < hold.Counts.From || k.At.From > hold.Counts.To:
		case k.Own:
			hold.Apart = append(hold.Apart, k)
		default:
			hold.Packs = append(hold.Packs, k)
			hold.Total += k.Count
		}
	}
}

func unreadyHold(p *Problem, h History) Hold {
	b := Bounds{FromCheck: record.None, ToCheck: record.None, From: p.OpenedAt, To: p.OpenedAt}
	if p.Sealed != nil {
		b.From, b.To = p.Sealed.From, p.Sealed.To
	}
	hold := Hold{Proposed: b, Possible: b, Counts: b, Begins: h.Begins}
	for _, k := range h.Packs {
		if k.ID == p.ID {
			hold.Packs, hold.Total = append(hold.Packs, k), k.Count
		}
	}
	return hold
}

// end is the last moment at which somebody may have sealed on: until the sealer
// was tagged, or came back, or now.
func (p *Problem) end(now record.Time) record.Time {
	switch {
	case p.Tagged != 0:
		return p.Tagged
	case p.HandedBack != 0:
		return p.HandedBack
	}
	return now
}

// window reaches from the last good check that counts before the bad pack was
// sealed to the first one after it.
func window(h History, from, to, end record.Time, counts func(CheckFact) bool) Bounds {
	b := Bounds{From: h.Begins, To: end, FromCheck: record.None, ToCheck: record.None}
	for _, c := range h.Checks {
		if !c.Good || !c.Witnessed || !counts(c) {
			continue
		}
		if c.Began <= from {
			b.From, b.FromCheck = c.Began, c.Seq
		}
		if c.Began > to && b.ToCheck == record.None {
			b.To, b.ToCheck = c.Began, c.Seq
		}
	}
	return b
}

func (b *Bounds) widen(o Bounds) {
	if o.From < b.From {
		b.From, b.FromCheck = o.From, o.FromCheck
	}
	if o.To > b.To {
		b.To, b.ToCheck = o.To, o.ToCheck
	}
}

// couldSee reports whether a check could have seen a fault of this kind at this
// place. Dye finds ways through; a weak or burnt seal shows in a peel.
func couldSee(c CheckFact, place record.Place, kind record.Fault) bool {
	if place != record.NoPlace && place != record.Whole &&
		!slices.Contains(c.Places, place) && !slices.Contains(c.Places, record.Whole) {
		return false
	}
	switch kind {
	case record.Weak, record.Delamination:
		return slices.Contains(c.Tests, record.Peel) || slices.Contains(c.Tests, record.Indicator)
	case record.Channel:
		return slices.Contains(c.Tests, record.Dye) || slices.Contains(c.Tests, record.Indicator)
	}
	return true
}

// concerns reports whether packs of a pouch can have the problem's fault: all of
// them if the place is to blame, those of its own pouch if the heat is. Until
// the lead has said which, a fault that was seen holds all, a test that said
// nothing holds its own.
func (p *Problem) concerns(pouch record.ID) bool {
	switch p.Blame {
	case record.BlamePlace, record.BlameBoth:
		return true
	case record.BlameHeat:
		return pouch == p.Pouch
	}
	return pouch == p.Pouch || p.What != WhatNotValid || p.faultSeen()
}

// faultSeen reports whether a later check or report saw a fault after all.
func (p *Problem) faultSeen() bool { return p.Kind != "" }
