package rules

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// SaidBadSeal is a report of a bad seal. A report about the maker's seal needs
// no sealer.
type SaidBadSeal struct {
	Entry
	Sealer  record.ID
	BadSeal record.BadSeal
}

// Consequence is what follows from a kind of bad seal.
type Consequence string

const (
	Stops     Consequence = "stops"     // the sealer goes out of service
	Repackage Consequence = "repackage" // repackage, one test seal now
	HoldsLot  Consequence = "holds-lot" // the pouch lot goes on hold
	Symptom   Consequence = "symptom"   // counted, nobody blamed
)

// ConsequenceOf tells what follows from a report. What is not surely the
// packing's doing stops the sealer.
func ConsequenceOf(b record.BadSeal) Consequence {
	switch {
	case b.MakersSeal:
		return HoldsLot
	case b.Kind == record.SecondSeal:
		return Symptom
	}
	switch b.Kind {
	case record.Crease, record.TooClose, record.Overfilled, record.Tear, record.Hole, record.Dirt:
		return Repackage
	}
	return Stops
}

// BadSeal decides on a report. It is never refused for being stale: the worst
// that a late report can do is to stop a sealer that somebody looks at again.
func BadSeal(v record.View, c SaidBadSeal, now record.Time) ([]Draft, error) {
	if !slices.Contains(record.Faults(), c.BadSeal.Kind) {
		return nil, fault.Field("kind", "Say what you see, or choose Don't know.")
	}
	if ConsequenceOf(c.BadSeal) == HoldsLot {
		return makersSeal(v, c, now)
	}
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	st := Standing(v, s, now)
	if at := c.BadSeal.SealedAt; at != nil && (at.To < at.From || at.From > now.Add(skew)) {
		return nil, fault.Field("sealed_at", "Give the time the pack was sealed, in the past.")
	}
	dr, err := c.draft(d, s.subject(), &c.BadSeal, now)
	if err != nil {
		return nil, err
	}
	switch ConsequenceOf(c.BadSeal) {
	case Stops:
		stop(v, s, st, &c, &dr)
	case Repackage:
		s.testSeal(st, &dr.Record)
	}
	return []Draft{dr}, nil
}

// stop takes the sealer out of service. A pack that was sealed before the last
// good check and found elsewhere asks for a check at all places instead: the
// sealer may be well by now, and must prove it.
func stop(v record.View, s *Sealer, st record.Readiness, c *SaidBadSeal, dr *Draft) {
	r := &dr.Record
	r.Effect.Takes = true
	good := s.lastGood(orID(c.BadSeal.Pouch, st.Pouch))
	old := c.BadSeal.SealedAt != nil && good != nil && c.BadSeal.SealedAt.To.Add(skew) < good.Began
	out := st.State == record.OutOfService || st.State == record.WithEngineering
	if !old || out || s.returnedAfter(v, r.Happened) != nil {
		failed(v, s, st, &c.Entry, dr, WhyBadSeal)
		return
	}
	if st.State == record.Retired {
		opens(v, dr)
		return
	}
	next := due(st, r, WhyElsewhere)
	if st.Problem.IsZero() {
		opens(v, dr)
		next.Problem = c.ID
	} else {
		r.Effect.Joins = st.Problem
	}
	if next.Need != record.NeedReturn {
		next.Need, next.Good, next.Of = record.NeedPlaces, 0, 0
	}
	r.Effect.Readiness = &next
}

func orID(a, b record.ID) record.ID {
	if a.IsZero() {
		return b
	}
	return a
}

// testSeal asks for one test seal after a fault of packing.
func (s *Sealer) testSeal(st record.Readiness, r *record.Record) {
	r.Effect.Takes = true
	if st.State != record.Ready || s.answered(r.Happened) {
		return
	}
	next := due(st, r, WhyRepackage)
	next.Need = record.NeedTestSeal
	r.Effect.Readiness = &next
}

// lastGood is the last good check of a pouch, nil if there is none.
func (s *Sealer) lastGood(pouch record.ID) *Good {
	for i := range s.Good {
		if s.Good[i].Pouch == pouch {
			return &s.Good[i]
		}
	}
	return nil
}

// makersSeal puts the lot of the pouch on hold and opens a problem about it; no
// sealer is to blame.
func makersSeal(v record.View, c SaidBadSeal, now record.Time) ([]Draft, error) {
	p := GetPouch(v, c.BadSeal.Pouch)
	if p == nil {
		return nil, fault.Field("pouch", "Say which pouch it is.")
	}
	if c.BadSeal.Lot == "" {
		return nil, fault.Field("lot", "Type the lot that is printed on the pouch or its box.")
	}
	d := GetDepartment(v, p.Dept)
	subject := record.Subject{Type: record.Pouch, ID: p.ID}
	if s := GetSealer(v, c.Sealer); s != nil {
		subject = s.subject()
	}
	report, err := c.draft(d, subject, &c.BadSeal, now)
	if err != nil {
		return nil, err
	}
	report.Record.Effect.Opens = GetSite(v).Problems + 1
	hold, err := c.draft(d, record.Subject{Type: record.Pouch, ID: p.ID},
		&record.LotHeld{Lot: c.BadSeal.Lot, Problem: c.ID, Why: string(c.BadSeal.Kind)}, now)
	return []Draft{report, hold}, err
}
