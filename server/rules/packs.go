package rules

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// SaidPacks is an entry of the pack log.
type SaidPacks struct {
	Entry
	Sealer record.ID
	Packs  record.Packs
}

// PacksSealed decides on an entry of the pack log. Packs that were sealed while
// the sealer was not ready for them open a problem of their own: a hold, without
// blame and without clinical engineering.
func PacksSealed(v record.View, c SaidPacks, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	if c.Packs.Count < 1 || c.Packs.Count > 10000 {
		return nil, fault.Field("count", "Give the number of packs, 1 to 10,000.")
	}
	if p := GetPouch(v, c.Packs.Pouch); p == nil || p.Dept != d.ID {
		return nil, fault.Field("pouch", "Say which pouch was sealed.")
	}
	dr, err := c.draft(d, s.subject(), &c.Packs, now)
	if err != nil {
		return nil, err
	}
	h := dr.Record.Happened
	if !s.heldAnyway(v, c.Packs.Pouch, h, now) && s.sealedUnready(c.Packs.Pouch, h, d.dayOf(h.To, now)) {
		dr.Record.Effect.Opens = GetSite(v).Problems + 1
	} else if p := s.settledOver(v, c.Packs.Pouch, h, now); p != nil {
		dr.Record.Effect.Joins = p.ID
	}
	return []Draft{dr}, nil
}

// settledOver is the newest problem whose packs count as settled though these
// lie in its window.
func (s *Sealer) settledOver(v record.View, pouch record.ID, h record.Span, now record.Time) *Problem {
	for _, id := range slices.Backward(s.Problems) {
		p := GetProblem(v, id)
		if p == nil || p.SettledAt == 0 || !p.HasWindow() || !p.concerns(pouch) || h.To < p.SettledFrom {
			continue
		}
		to := p.SettledTo
		if len(p.Anchors) > 1 {
			to = max(to, p.end(now)) // later faults have windows of their own
		}
		if h.From <= to {
			return p
		}
	}
	return nil
}

// sealedUnready reports whether the sealer is known not to have been ready for
// packs of a span that ended on a day. Clocks are given the benefit of their
// skew; what lies before anything remembered is not known.
func (s *Sealer) sealedUnready(pouch record.ID, h record.Span, day record.Date) bool {
	var good *Touch
	for i := range s.Touches {
		t := &s.Touches[i]
		if t.Gives == pouch && t.From <= h.From.Add(skew) && (good == nil || t.From >= good.From) {
			good = t
		}
	}
	if good != nil && (good.Day < day || good.Until != 0 && good.Until < h.To) {
		return true
	}
	for _, t := range s.Touches {
		if t.Takes && t.From.Add(skew) < h.To && (good == nil || t.To >= good.From) {
			return true
		}
	}
	return good == nil && s.Forgotten == record.None
}

// heldAnyway reports whether an open window holds packs of a span already: people
// whose phones are offline seal on until a sealer that is out of service is tagged.
func (s *Sealer) heldAnyway(v record.View, pouch record.ID, h record.Span, now record.Time) bool {
	for _, id := range s.Problems {
		p := GetProblem(v, id)
		if p == nil || !p.HasWindow() || !p.concerns(pouch) || h.From > p.end(now) {
			continue
		}
		for _, a := range p.Anchors {
			if h.To >= a.From && !s.passedBetween(a.To, h.From) {
				return true
			}
		}
	}
	return false
}

// passedBetween reports whether a good check, given anything or not, lies
// between: a window may end there.
func (s *Sealer) passedBetween(from, to record.Time) bool {
	for _, t := range s.Touches {
		if !t.Takes && t.From > from && t.From < to {
			return true
		}
	}
	return s.Forgotten != record.None && s.Touches[0].From > from
}
