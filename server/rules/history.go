package rules

import (
	"cmp"
	"slices"

	"tidemark/server/record"
)

// Add takes a record of the sealer's chain into the history. Records come newest
// first.
func (h *History) Add(r *record.Record) {
	body, err := r.Content()
	if err != nil {
		return
	}
	switch b := body.(type) {
	case *record.Check:
		h.Checks = append(h.Checks, CheckFact{Seq: r.Seq, Pouch: b.Pouch, Good: b.Outcome == record.Pass,
			Began: r.Happened.From, Places: b.Places, Tests: b.Tests, Witnessed: !r.Late && r.Via != record.ViaImport})
	case *record.Packs:
		h.Packs = append(h.Packs, PackFact{ID: r.ID, Pouch: b.Pouch, Count: b.Count, At: r.Happened,
			Load: b.Load, Own: r.Effect.Opens > 0})
	}
}

// slack is how much further back than its window a history is read: records lie
// in the order of their arrival, and a phone may have kept one for two weeks.
const slack = 14 * 24 * 3600 * 1000

// Enough reports whether older records can no longer change the hold of p.
func (h *History) Enough(p *Problem) bool {
	if len(h.Checks) == 0 {
		return false
	}
	from := p.OpenedAt
	if p.Sealed != nil {
		from = p.Sealed.From
	}
	if p.Hold != nil {
		from = min(from, p.Hold.From)
	}
	oldest := h.Checks[len(h.Checks)-1]
	for _, c := range h.Checks {
		if c.Good && c.Witnessed && c.Began <= from && c.Pouch == p.Pouch && couldSee(c, p.Place, p.Kind) {
			return oldest.Began+slack < c.Began
		}
	}
	return false
}

// Sort puts checks and packs in the order in which they happened.
func (h *History) Sort() {
	slices.SortFunc(h.Checks, func(a, b CheckFact) int { return cmp.Or(cmp.Compare(a.Began, b.Began), cmp.Compare(a.Seq, b.Seq)) })
	slices.SortFunc(h.Packs, func(a, b PackFact) int { return cmp.Compare(a.At.From, b.At.From) })
}
