package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// SaidPackList is a list of packs that came in from the department's own system.
type SaidPackList struct {
	Entry
	Dept record.ID
	List record.PacksListed
	Late []TurnedUp // packs of holds that count as settled
}

// TurnedUp are packs of a list that belong on the hold list of a problem whose
// packs count as settled.
type TurnedUp struct {
	Problem record.ID
	Packs   int
}

// ListPacks decides on such a list. One that is there already changes nothing. It
// gives nothing and bounds no hold; what counted as settled is open again where
// it has more packs.
func ListPacks(v record.View, c SaidPackList, now record.Time) ([]Draft, error) {
	d := GetDepartment(v, c.Dept)
	switch {
	case d == nil:
		return nil, fault.New(fault.Unknown, "There is no such department here.")
	case d.HasList(c.List.SHA256):
		return nil, nil
	case c.List.Rows < 1:
		return nil, fault.Field("file", "No row of the list can be read: nothing to take.")
	}
	dr, err := c.draft(d, record.Subject{Type: record.Department, ID: d.ID}, &c.List, now)
	if err != nil {
		return nil, err
	}
	drafts := []Draft{dr}
	for _, late := range c.Late {
		p := GetProblem(v, late.Problem)
		if p == nil || p.SettledAt == 0 || p.Dept != d.ID {
			continue
		}
		more, err := c.draft(d, record.Subject{Type: record.Problem, ID: p.ID}, &record.PacksTurnedUp{List: c.ID, Packs: late.Packs}, now)
		if err != nil {
			return nil, err
		}
		more.Record.Effect.Joins = p.ID
		drafts = append(drafts, more)
	}
	return drafts, nil
}

// listIsThere wants a list that is taken back to count still, and a reason.
func (d *Department) listIsThere(b *record.PacksUnlisted) error {
	i := slices.IndexFunc(d.Lists, func(l PackList) bool { return l.Seq == b.List })
	switch {
	case i < 0:
		return fault.New(fault.Unknown, "There is no such list here.")
	case d.Lists[i].Gone != 0:
		return fault.New(fault.Stale, "This list was taken back already.")
	case strings.TrimSpace(b.Why) == "":
		return fault.Field("why", "Give the reason: it stays with your name.")
	}
	return nil
}

// HasList reports whether a file came in before, and counts.
func (d *Department) HasList(sha256 string) bool {
	return slices.ContainsFunc(d.Lists, func(l PackList) bool { return l.SHA256 == sha256 && l.Gone == 0 })
}

// HadNumber reports whether packs of a span may carry a number as this sealer's.
func (s *Sealer) HadNumber(number string, at record.Span) bool { return s.hadNumber(number, at) }

// Reach is the longest span that packs of the hold can lie in.
func (hold *Hold) Reach() record.Span {
	s := record.Span{From: hold.Counts.From, To: hold.Counts.To}
	for _, b := range append([]Bounds{hold.Proposed, hold.Possible}, hold.Also...) {
		s.From, s.To = min(s.From, b.From), max(s.To, b.To)
	}
	return s
}
