package rules

import (
	"slices"

	"tidemark/server/record"
)

// Version is what became of a record since it was made.
type Version struct {
	Of     record.Seq `json:"of"`              // the original
	Newest record.Seq `json:"newest"`          // the correction that counts
	Gone   bool       `json:"gone,omitempty"`  // taken back
	Asked  record.ID  `json:"asked,omitzero"`  // who asked to take it back; a second name is wanted
	Asking record.Seq `json:"asking,omitzero"` // the record that asks
}

// keptVersions is how many corrected records of a subject are known to have a
// newer version than the original.
const keptVersions = 256

// Versions are those of a subject's records that were corrected or taken back,
// oldest first.
type Versions []Version

// VersionsOf are those of a subject's chain.
func VersionsOf(v record.View, of record.Subject) Versions {
	switch value := v.Value(of).(type) {
	case *Sealer:
		return value.Versions
	case *Problem:
		return value.Versions
	}
	return nil
}

// Of returns what became of a record.
func (vs Versions) Of(seq record.Seq) Version {
	for _, v := range vs {
		if v.Of == seq {
			return v
		}
	}
	return Version{Of: seq, Newest: seq}
}

// amend returns the versions after one more correction.
func (vs Versions) amend(r *record.Record, body record.Body) Versions {
	v := vs.Of(r.Original())
	switch {
	case r.Effect.Nothing == NothingSecond:
		v.Asked, v.Asking = r.By, r.Seq
	default:
		_, corrected := body.(*record.Corrected)
		v.Newest, v.Gone, v.Asked, v.Asking = r.Seq, !corrected, record.ID{}, 0
	}
	others := slices.DeleteFunc(slices.Clone(vs), func(o Version) bool { return o.Of == v.Of })
	return last(append(others, v), keptVersions)
}

// amends reports whether a record corrects another one.
func amends(body record.Body) bool {
	switch body.(type) {
	case *record.Corrected, *record.Voided, *record.VoidConfirmed:
		return true
	}
	return false
}

// applyAmended puts a correction into a copy of the sealer: what a good check gave
// and bounded is not counted any more once it was taken back or its time moved.
func (s *Sealer) applyAmended(r *record.Record, body record.Body) {
	s.Versions = s.Versions.amend(r, body)
	of := r.Original()
	b, corrected := body.(*record.Corrected)
	if r.Effect.Nothing == NothingSecond || corrected && b.Happened == nil {
		return
	}
	s.Good = slices.DeleteFunc(slices.Clone(s.Good), func(g Good) bool { return g.Seq == of })
	s.Touches = slices.DeleteFunc(slices.Clone(s.Touches), func(t Touch) bool { return t.Seq == of && !t.Takes })
	s.Waiting = slices.DeleteFunc(slices.Clone(s.Waiting), func(seq record.Seq) bool { return seq == of })
	if !corrected {
		s.Filed.Readings = slices.DeleteFunc(slices.Clone(s.Filed.Readings), func(seq record.Seq) bool { return seq == of })
	}
}

// applyAmended puts a correction into a copy of the problem: of packs that were
// settled, of a fault that its window hangs on, or of a check that bounds one.
func (p *Problem) applyAmended(r *record.Record, body record.Body) {
	if r.Of.IsZero() { // else the original is of the sealer's chain, which keeps its versions
		p.Versions = p.Versions.amend(r, body)
	}
	if r.Effect.Nothing == NothingSecond {
		return
	}
	of := r.Original()
	b, corrected := body.(*record.Corrected)
	p.amendSettled(of, b, corrected)
	p.amendAnchor(of, b, corrected)
	if r.Effect.Joins.IsZero() {
		return
	}
	if p.Hold != nil {
		stale := *p.Hold
		stale.Stale = true
		p.Hold = &stale
	}
	p.Answer = nil
	p.reopen()
	if r.Effect.Readiness != nil { // the last stop that stood is gone
		p.Out, p.Taken, p.Fixed = false, nil, r.Happened.To
		p.ends(r)
	}
}

func (p *Problem) amendSettled(of record.Seq, b *record.Corrected, corrected bool) {
	i := slices.IndexFunc(p.Settled, func(s Settled) bool { return s.Seq == of })
	if i < 0 {
		return
	}
	p.Settled = slices.Clone(p.Settled)
	switch {
	case !corrected:
		p.Settled = slices.Delete(p.Settled, i, i+1)
	case b.Settled != nil:
		p.Settled[i].PackSettled = *b.Settled
	}
}

// amendAnchor corrects a fault. One that was taken back still holds its packs
// until somebody has settled them: see Anchor.
func (p *Problem) amendAnchor(of record.Seq, b *record.Corrected, corrected bool) {
	i := slices.IndexFunc(p.Anchors, func(a Anchor) bool { return a.Seq == of })
	if i < 0 {
		return
	}
	p.Anchors = slices.Clone(p.Anchors)
	a := &p.Anchors[i]
	if !corrected {
		a.Gone = true
		return
	}
	if b.Happened != nil && a.From != 0 {
		a.From, a.To = min(a.From, b.Happened.From), max(a.To, b.Happened.To)
	}
	switch {
	case b.BadSeal != nil:
		a.Kind, a.Place, a.Load = b.BadSeal.Kind, b.BadSeal.Place, b.BadSeal.Load
		if at := b.BadSeal.SealedAt; at != nil {
			a.From, a.To = at.From, at.To
		}
	case b.Check != nil:
		a.Kind, a.Place = b.Check.Kind, b.Check.Place
	}
	if of != p.Opened {
		return
	}
	switch {
	case b.BadSeal != nil:
		p.Kind, p.Place, p.AtCM = b.BadSeal.Kind, b.BadSeal.Place, b.BadSeal.AtCM
		p.Lot, p.Found, p.Sealed = b.BadSeal.Lot, b.BadSeal.Found, b.BadSeal.SealedAt
	case b.Check != nil:
		p.Kind, p.Place, p.AtCM = b.Check.Kind, b.Check.Place, b.Check.AtCM
	}
}

// allGone reports whether every fault behind a problem was taken back.
func (p *Problem) allGone() bool {
	return len(p.Anchors) > 0 && !slices.ContainsFunc(p.Anchors, func(a Anchor) bool { return !a.Gone })
}

// Amendments are the corrections among records, by the original.
type Amendments map[record.Seq]*record.Record

// Add takes in a record, if it is a correction that counts. The newest of two
// counts, in whichever order they come.
func (a Amendments) Add(r *record.Record, body record.Body) {
	if !amends(body) || r.Effect.Nothing == NothingSecond {
		return
	}
	of := r.Original()
	if old := a[of]; old == nil || old.Seq < r.Seq {
		kept := *r
		a[of] = &kept
	}
}

// AmendmentsOf are those among some records.
func AmendmentsOf(records []record.Record) Amendments {
	a := Amendments{}
	for i := range records {
		if body, err := records[i].Content(); err == nil {
			a.Add(&records[i], body)
		}
	}
	return a
}

// Now returns what a record says and when that happened, after its corrections;
// moved tells that the time is another one, gone that it was taken back.
func (a Amendments) Now(r *record.Record, body record.Body) (now record.Body, at record.Span, moved, gone bool) {
	by := a[r.Seq]
	if by == nil {
		return body, r.Happened, false, false
	}
	said, err := by.Content()
	b, corrected := said.(*record.Corrected)
	if err != nil || !corrected {
		return body, r.Happened, false, true
	}
	at = r.Happened
	if b.Happened != nil {
		at, moved = *b.Happened, true
	}
	return b.Says(body), at, moved, false
}
