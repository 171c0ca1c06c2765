package rules

import (
	"slices"

	"tidemark/server/record"
)

// Hold is the answer: what is surely to be kept aside, what might have to be,
// and the packs known to lie in the window that counts.
type Hold struct {
	Proposed Bounds
	Possible Bounds   // never narrower than Proposed
	Counts   Bounds   // the one that counts, after the lead's answers
	Also     []Bounds // of later faults that belong to the problem, apart from it
	Begins   record.Time
	NoCheck  bool // no check before the pack is on record: look before Begins, too
	Packs    []PackFact
	Apart    []PackFact     // in the window, but on the list of a problem of their own
	Total    int            // at least so many Packs
	Blind    []record.Place // what the checks tested that could not have seen the fault
	Open     bool           // the difference waits for a lead's answer
	Passes   int            // good checks of a calibration's time: they shorten nothing
}

// HoldOf draws the hold list of a problem. A problem about packs that were
// sealed while the sealer was not ready holds those alone.
func HoldOf(p *Problem, h History) Hold {
	if p.What == WhatUnready {
		return unreadyHold(p, h)
	}
	hold := Hold{Begins: h.Begins}
	possible := hold.draw(p, h)
	hold.Counts = hold.Proposed
	if p.Hold != nil {
		hold.Counts = Bounds{From: p.Hold.From, To: p.Hold.To, FromCheck: record.None, ToCheck: record.None}
	}
	if p.Answer != nil && p.Answer.Accept {
		hold.Counts.widen(hold.Possible)
	}
	answered := p.Answer != nil || p.Hold != nil && !p.Hold.Stale
	hold.Open = !answered && !hold.coversAll(possible)
	hold.NoCheck = hold.Counts.FromCheck == record.None && p.Hold == nil && !p.calibratedBefore()
	hold.list(p, h.Packs)
	return hold
}

// draw hangs the windows on their faults and returns each one's possible window.
// Windows that meet are one; the others stand in Also.
func (hold *Hold) draw(p *Problem, h History) (possible []Bounds) {
	if p.What == WhatCalibration {
		hold.Proposed, hold.Passes = p.sinceCalibration(h), p.passesSince(h)
		hold.Possible = hold.Proposed
		return nil
	}
	for i, a := range p.Anchors {
		near, far := p.windows(a.narrow(h.Packs), h)
		switch {
		case i == 0:
			hold.Proposed, hold.Possible = near, far
		case near.From <= hold.Proposed.To && hold.Proposed.From <= near.To:
			hold.Proposed.widen(near)
		default:
			hold.Also = append(hold.Also, near)
		}
		hold.Possible.widen(far)
		hold.blind(p, a, far, h.Checks)
		possible = append(possible, far)
	}
	return possible
}

// blind notes what was tested by the good checks within a possible window that say
// nothing about its fault.
func (hold *Hold) blind(p *Problem, a Anchor, far Bounds, checks []CheckFact) {
	for _, c := range checks {
		if !c.Good || !c.Witnessed || c.Pouch != a.Pouch || p.visible(a, c) || c.Began < far.From || c.Began > far.To {
			continue
		}
		for _, place := range c.Places {
			if !slices.Contains(hold.Blind, place) {
				hold.Blind = append(hold.Blind, place)
			}
		}
	}
}

// counting are the windows that count.
func (hold *Hold) counting() []Bounds { return append([]Bounds{hold.Counts}, hold.Also...) }

// covers reports whether a window lies within one of those that count.
func (hold *Hold) covers(w Bounds) bool {
	return slices.ContainsFunc(hold.counting(), func(b Bounds) bool { return b.From <= w.From && w.To <= b.To })
}

func (hold *Hold) coversAll(windows []Bounds) bool {
	return !slices.ContainsFunc(windows, func(w Bounds) bool { return !hold.covers(w) })
}

// meets reports whether a span touches one of the windows that count.
func (hold *Hold) meets(s record.Span) bool {
	return slices.ContainsFunc(hold.counting(), func(b Bounds) bool { return s.To >= b.From && s.From <= b.To })
}

// list puts the packs of the window that counts on the list.
func (hold *Hold) list(p *Problem, packs []PackFact) {
	for _, k := range packs {
		switch {
		case !p.concerns(k.Pouch) || !hold.meets(k.At):
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
	if p.Ends != 0 {
		return p.Ends
	}
	return now
}

// concerns reports whether packs of a pouch can have the problem's fault: all of
// them if the place is to blame, those of its own pouch if the heat is. Until
// the lead has said which, a fault that was seen holds all, a test that said
// nothing holds its own.
func (p *Problem) concerns(pouch record.ID) bool {
	if pouch.IsZero() {
		return true // nobody knows which it was
	}
	switch p.Blame {
	case record.BlamePlace, record.BlameBoth:
		return true
	case record.BlameHeat:
		return p.sawAt(pouch)
	}
	return p.sawAt(pouch) || p.What != WhatNotValid || p.faultSeen()
}

// sawAt reports whether one of the faults was, or may have been, at a pouch.
func (p *Problem) sawAt(pouch record.ID) bool {
	return slices.ContainsFunc(p.Anchors, func(a Anchor) bool { return a.Pouch == pouch || a.Pouch.IsZero() })
}

// faultSeen reports whether a later check or report saw a fault after all.
func (p *Problem) faultSeen() bool { return p.Kind != "" }
