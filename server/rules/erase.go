package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// SaidErase is the wish of an administrator to remove private values for good.
type SaidErase struct {
	Entry
	Dept    record.ID
	Records []record.Seq
	Why     string
}

// Erase decides on it. Nothing that the rules look at is private, so no standing
// changes.
func Erase(v record.View, c SaidErase, now record.Time) ([]Draft, error) {
	d := GetDepartment(v, c.Dept)
	switch {
	case d == nil:
		return nil, fault.New(fault.Unknown, "There is no such department here.")
	case strings.TrimSpace(c.Why) == "":
		return nil, fault.Field("why", "Give the reason: it stays with your name.")
	case len(c.Records) == 0:
		return nil, fault.Field("entry", "There is nothing private to remove there.")
	}
	dr, err := c.draft(d, record.Subject{Type: record.Department, ID: d.ID},
		&record.Erased{Records: c.Records, Why: strings.TrimSpace(c.Why)}, now)
	if err != nil {
		return nil, err
	}
	return []Draft{dr}, nil
}

// SaidClock is an administrator's word that the server's clock had run ahead and
// is right now.
type SaidClock struct {
	Entry
	Dept  record.ID
	Was   record.Time // the latest time given to a record, as the page showed it
	Clock record.Time // what the clock reads
}

// CorrectClock decides on it: only if the clock is behind now, which never goes
// back before.
func CorrectClock(v record.View, c SaidClock, now record.Time) ([]Draft, error) {
	d := GetDepartment(v, c.Dept)
	switch {
	case d == nil:
		return nil, fault.New(fault.Unknown, "There is no such department here.")
	case c.Clock.Add(skew) >= now:
		return nil, fault.New(fault.Stale, "The clock of the server is not behind its newest record.")
	}
	dr, err := c.draft(d, record.TheSite, &record.ClockCorrected{Was: c.Was}, c.Clock)
	if err != nil {
		return nil, err
	}
	dr.Record.Dept = d.ID
	return []Draft{dr}, nil
}

// erases adds to the list of what was removed. The newest 4,096 are enough for
// pages; the records themselves name all.
func (s *Site) erases(r *record.Record, b *record.Erased) {
	s.Erased = last(append(slices.Clone(s.Erased), Erasure{b.Records, r.Seq, r.Day}), 4096)
}

// Removed returns when the private values of a record were removed, if they were.
func (s *Site) Removed(seq record.Seq) (record.Date, bool) {
	for _, e := range s.Erased {
		if slices.Contains(e.Records, seq) {
			return e.On, true
		}
	}
	return 0, false
}
