package rules

import (
	"cmp"
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

	amended Amendments
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
	Late  bool
	Own   bool // it opened a problem of its own
	// Of a row of a list that came in: the list, the pouch as it is called there,
	// and the pack's own number. It bounds no hold, so it counts as Late.
	List  record.ID
	Named string
	Mark  string
}

// Add takes a record of the sealer's chain into the history. Records come newest
// first, so corrections before what they correct.
func (h *History) Add(r *record.Record) {
	body, err := r.Content()
	if err != nil {
		return
	}
	if h.amended == nil {
		h.amended = Amendments{}
	}
	h.amended.Add(r, body)
	body, at, moved, gone := h.amended.Now(r, body)
	switch b := body.(type) {
	case *record.Check:
		h.Checks = append(h.Checks, CheckFact{Seq: r.Seq, Pouch: b.Pouch, Good: b.Outcome == record.Pass,
			Began: r.Happened.From, Places: b.Places, Tests: b.Tests, Witnessed: witnessed(r, b) && !moved && !gone})
	case *record.Packs:
		if !gone {
			h.Packs = append(h.Packs, PackFact{ID: r.ID, Pouch: b.Pouch, Count: b.Count, At: at,
				Load: b.Load, Late: r.Late, Own: r.Effect.Opens > 0})
		}
	}
}

// slack is how much further back than its window a history is read: records lie
// in the order of their arrival, and a phone may have kept one for two weeks.
const slack = 14 * 24 * 3600 * 1000

// Enough reports whether older records can no longer change the hold of p.
func (h *History) Enough(p *Problem) bool {
	for _, a := range p.Anchors {
		if p.Hold != nil {
			a.From = min(a.From, p.Hold.From)
		}
		if !h.reaches(p, a) {
			return false
		}
	}
	return len(p.Anchors) > 0
}

// reaches reports whether the window of one fault has its beginning.
func (h *History) reaches(p *Problem, a Anchor) bool {
	if p.What == WhatCalibration {
		n := len(h.Packs)
		return n > 0 && h.Packs[n-1].At.From+slack < a.From
	}
	for _, c := range h.Checks {
		if c.Good && c.Witnessed && c.Began <= a.From && c.Pouch == a.Pouch && p.visible(a, c) {
			return h.Checks[len(h.Checks)-1].Began+slack < c.Began
		}
	}
	return false
}

// Sort puts checks and packs in the order in which they happened.
func (h *History) Sort() {
	slices.SortFunc(h.Checks, func(a, b CheckFact) int { return cmp.Or(cmp.Compare(a.Began, b.Began), cmp.Compare(a.Seq, b.Seq)) })
	slices.SortFunc(h.Packs, func(a, b PackFact) int { return cmp.Compare(a.At.From, b.At.From) })
}
