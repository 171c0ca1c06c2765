package report

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Scope tells which records a pack is made of.
type Scope struct {
	Dept       record.ID
	Sealers    map[record.ID]bool
	Pouches    map[record.ID]bool
	People     map[record.ID]bool
	Problems   map[record.ID]int // to their place in the list
	From, To   record.Date
	Begin, End record.Time // of the days, for records that count for none
}

// Place is where a record stands in a pack.
type Place struct {
	Part    Part
	Problem int // of the list, -1 if it belongs to none
	Late    bool
	Mends   bool // it corrects another record or takes it back
}

// Of places a record. Settings and facts are shown from their beginning: what
// stood in the period may have been decided long before. A problem is shown with
// its whole chain, events of a sealer where they count for a day of the period.
func (s *Scope) Of(r *record.Record) (p Place, in bool) {
	p = Place{Part: s.part(r), Problem: s.problem(r), Late: r.Late && s.within(r), Mends: r.Corrects != record.None}
	switch {
	case p.Problem >= 0:
		in = true
	case p.Part == "" || !s.begun(r):
		return p, false
	case p.Part == Tests, p.Part == Facts, p.Part == Settings, p.Part == Staff, r.Kind == "temperature-table", r.Kind == "calibrated":
		in = true
	case p.Part == Unused:
		in = s.meets(r)
	default:
		in = s.within(r)
	}
	return p, in
}

// part is where a record of the department stands, "" if it is not of the pack.
func (s *Scope) part(r *record.Record) Part {
	switch id := r.Subject.ID; r.Subject.Type {
	case record.Sealer:
		if s.Sealers[id] {
			return sealerPart(r.Kind)
		}
	case record.Pouch:
		if s.Pouches[id] {
			return Facts
		}
	case record.Person:
		if s.People[id] {
			return Staff
		}
	case record.Department:
		if id == s.Dept {
			return departmentPart(r.Kind)
		}
	}
	return ""
}

func sealerPart(k record.Kind) Part {
	switch k {
	case "check", "check-accepted":
		return Checks
	case "approval-given", "approval-ended", "approval-questioned":
		return Settings
	case "sealer-added", "sealer-changed", "sealer-moved", "sealer-retired":
		return Facts
	case "changeover", "packs", "box-opened", "bad-seal", "photograph", "note", "voided":
		return Events
	}
	return Upkeep
}

// departmentPart leaves out devices, routes and messages: they say nothing about
// how sealers are tested.
func departmentPart(k record.Kind) Part {
	switch k {
	case "not-used":
		return Unused
	case "department-opened", "department-changed", "plan-set", "maintenance-set", "training-asked":
		return Tests
	}
	return ""
}

// problem is the place of the problem that a record belongs to.
func (s *Scope) problem(r *record.Record) int {
	ids := []record.ID{r.Effect.Joins}
	if r.Subject.Type == record.Problem {
		ids = append(ids, r.Subject.ID)
	}
	if r.Effect.Opens > 0 {
		ids = append(ids, r.ID)
	}
	for _, id := range ids {
		if i, ok := s.Problems[id]; ok {
			return i
		}
	}
	return -1
}

// within reports whether a record counts for a day of the period.
func (s *Scope) within(r *record.Record) bool {
	if r.Day == 0 {
		return r.At >= s.Begin && r.At < s.End
	}
	return r.Day >= s.From && r.Day <= s.To || r.Covers >= s.From && r.Covers <= s.To
}

// begun reports whether a record counts for a day before the period's end.
func (s *Scope) begun(r *record.Record) bool {
	if r.Day == 0 {
		return r.At < s.End
	}
	return r.Day <= s.To
}

// meets reports whether somebody said of a day of the period that it was not used.
func (s *Scope) meets(r *record.Record) bool {
	body, err := r.Content()
	b, ok := body.(*record.NotUsed)
	return err == nil && ok && b.From <= s.To && b.To >= s.From
}

// Open reports whether a problem was open on a day of the period.
func (s *Scope) Open(p *rules.Problem) bool {
	return p.OpenedAt < s.End && (p.Closed == 0 || p.Closed >= s.Begin)
}
