package rules_test

import (
	"slices"
	"time"

	"tidemark/server/record"
)

// The oracle answers "may this sealer seal this pouch?" and "which packs are on
// hold?" from the records alone, as RULES.md and DESIGN.md say it, by looking at
// all of them for every question. It reads no effect, no day, no lateness that
// the rules wrote down, keeps no state beyond what it found out about each record
// before, and shares no code with the rules but the vocabulary. It knows one
// department, of New York, whose settings do not change.

const (
	twoMinutes = 2 * time.Minute
	dayStart   = 5 * time.Hour
	earlyCheck = 2 * time.Hour
	lateAfter  = 15 * time.Minute
)

// told is a record and whether it was a fact that cannot be refused as stale.
type told struct {
	record.Record
	fact bool
	body record.Body
	now  record.Time // when it was decided
}

// finding is what the oracle found out about a record of the sealer's.
type finding struct {
	took  bool // it moved the sealer away from where it stood
	stops bool // out of service from here on
	spare bool // an old pack found elsewhere: a check at all places
	first bool // a test that was not valid, the first in a row
	gives bool // a good check that counts or makes it ready
	ready bool // it makes the sealer ready
	start record.Time
}

type oracle struct {
	sealer record.ID
	plan   record.Plan
	rs     []told
	found  []finding
	ours   []bool             // about the sealer, directly or through its problem
	ids    map[record.ID]bool // of its records: a problem has the id of its opener
}

// hear takes a record in and looks at all before it.
func (o *oracle) hear(r told) {
	s, k := r.Subject, len(o.rs)
	mine := s == sealerOf(o.sealer) || s.Type == record.Problem && o.ids[s.ID]
	if s == sealerOf(o.sealer) {
		o.ids[r.ID] = true
	}
	o.rs, o.ours, o.found = append(o.rs, r), append(o.ours, mine), append(o.found, finding{})
	if mine {
		o.found[k] = o.find(k)
	}
}

func (o *oracle) find(k int) (f finding) {
	now := o.rs[k].now
	idle := o.out(k) || o.retired(k)
	switch b := o.rs[k].body.(type) {
	case *record.Check:
		switch b.Outcome {
		case record.Pass:
			f.gives = o.gives(k, b)
			f.ready = f.gives && o.good(k, now)+1 >= o.of(k, now)
			f.start = o.startOf(k, now)
		case record.Fail:
			f.stops = o.stopsUnlessReturned(k)
		case record.NotValid:
			if idle || o.answered(k) && o.dayAt(o.lastStart(k)) > o.day(k) {
				return f
			}
			if o.notValid(k, now) {
				f.stops = o.stopsUnlessReturned(k)
			} else {
				f.took, f.first = true, true
			}
		case record.NotYet:
			f.took = !idle && !o.settling(k, now) && !o.answered(k)
		}
	case *record.BadSeal:
		f = o.badSeal(k, b)
	case *record.Changeover, *record.Disturbance, *record.SealerMoved:
		f.took = !idle && !o.answered(k)
	case *record.ApprovalGiven:
		f.took = !idle && !o.answered(k) && b.Pouch == o.pouch(k)
	case *record.ApprovalEnded:
		f.took = !idle && !o.answered(k) && b.Pouch == o.pouch(k)
	}
	f.took = f.took || f.stops || f.spare
	return f
}

// badSeal: DESIGN.md section 5 by kind.
func (o *oracle) badSeal(k int, b *record.BadSeal) (f finding) {
	packing := []record.Fault{record.Crease, record.TooClose, record.Overfilled, record.Tear, record.Hole, record.Dirt}
	switch {
	case b.MakersSeal, b.Kind == record.SecondSeal:
	case slices.Contains(packing, b.Kind):
		f.took = o.standsReady(k, o.rs[k].now) && !o.answered(k)
	case o.returnedAfter(k):
	case o.sealedBeforeLastGood(k, b) && !o.out(k):
		f.spare = !o.retired(k)
	default:
		f.stops = !o.retired(k)
	}
	return f
}

func (o *oracle) stopsUnlessReturned(k int) bool { return !o.returnedAfter(k) && !o.retired(k) }

// sealedBeforeLastGood: the pack was sealed before the last good check of its
// pouch, so that the sealer may be well by now.
func (o *oracle) sealedBeforeLastGood(k int, b *record.BadSeal) bool {
	pouch := b.Pouch
	if pouch.IsZero() {
		pouch = o.pouch(k)
	}
	for j := range k {
		c, ok := o.rs[j].body.(*record.Check)
		if ok && o.ours[j] && b.SealedAt != nil && c.Pouch == pouch && o.witnessed(j) &&
			b.SealedAt.To.Add(twoMinutes) < o.rs[j].Happened.From {
			return true
		}
	}
	return false
}

// witnessed: RULES.md R9, a good check not late, not imported, not by nobody.
func (o *oracle) witnessed(j int) bool {
	c, ok := o.rs[j].body.(*record.Check)
	return ok && c.Outcome == record.Pass && !o.late(j) && o.rs[j].Via != record.ViaImport && o.rs[j].Via != record.ViaNone
}

func (o *oracle) late(j int) bool {
	h := o.rs[j].Happened
	return h.Said != record.Clock || o.rs[j].now.Sub(h.To) > lateAfter
}

func (o *oracle) retired(n int) bool {
	for j := range n {
		if _, ok := o.rs[j].body.(*record.SealerRetired); ok && o.ours[j] {
			return true
		}
	}
	return false
}

// fix reports whether a record hands the sealer back or fixes it.
func (o *oracle) fix(j int) bool {
	switch o.rs[j].body.(type) {
	case *record.HandedBack, *record.FirstLineFix:
		return o.ours[j]
	}
	return false
}

func (o *oracle) last(n int, is func(j int) bool) int {
	for j := n - 1; j >= 0; j-- {
		if is(j) {
			return j
		}
	}
	return -1
}

func (o *oracle) stopped(j int) bool { return o.found[j].stops }
func (o *oracle) made(j int) bool    { return o.found[j].ready }

// out: a stop that nobody has handed back or fixed since.
func (o *oracle) out(n int) bool {
	stop := o.last(n, o.stopped)
	return stop >= 0 && o.last(n, o.fix) < stop
}

// returning: handed back or fixed, but the return checks are not all there.
func (o *oracle) returning(n int) bool {
	stop := o.last(n, o.stopped)
	return stop >= 0 && !o.out(n) && o.last(n, o.made) < stop
}

// returnedAfter: RULES.md R8, a return answers a fault that came before its fix.
func (o *oracle) returnedAfter(k int) bool {
	for made := range k {
		if !o.found[made].ready || !o.returning(made) {
			continue
		}
		if fix := o.last(made, o.fix); o.rs[fix].Happened.To > o.rs[k].Happened.To.Add(twoMinutes) &&
			o.rs[k].Happened.Said != record.Doubtful {
			return true
		}
	}
	return false
}

// standing is the check that made the sealer ready if nothing took that away; -1
// if there is none. Time is not looked at.
func (o *oracle) standing(n int) int {
	made := o.last(n, o.made)
	if took := o.last(n, func(j int) bool { return o.found[j].took }); took > made {
		return -1
	}
	return made
}

func (o *oracle) lastStart(n int) record.Time { return o.found[o.standing(n)].start }

// answered: the check behind the present Ready began more than two minutes after
// the end of record k.
func (o *oracle) answered(k int) bool {
	h := o.rs[k].Happened
	return o.standing(k) >= 0 && h.Said != record.Doubtful && o.lastStart(k) > h.To.Add(twoMinutes)
}

// dayAt is the operating day of an instant: what the clock showed five hours of
// the clock ago. New York's clock shows 05:00 once on every day.
func (o *oracle) dayAt(t record.Time) record.Date {
	_, offset := t.In(newYork).Zone()
	return record.DateOf(t.Time().Add(time.Duration(offset)*time.Second - dayStart))
}

// day is the operating day that record k counts for.
func (o *oracle) day(k int) record.Date {
	return min(o.dayAt(o.rs[k].Happened.To), o.dayAt(o.rs[k].now))
}

// through is the last operating day that a good check counts for.
func (o *oracle) through(k int) record.Date {
	day, from := o.day(k), o.rs[k].Happened.From
	if o.dayAt(from.Add(earlyCheck)) > day && o.dayAt(from) <= day {
		return day + 1
	}
	return day
}

// standsReady adds what time does to standing.
func (o *oracle) standsReady(n int, now record.Time) bool {
	made := o.standing(n)
	if made < 0 || o.retired(n) {
		return false
	}
	c := o.rs[made].body.(*record.Check)
	return o.approved(n, c, now) && o.through(made) >= o.dayAt(now)
}

// maySeal is the question itself.
func (o *oracle) maySeal(pouch record.ID, now record.Time) bool {
	n := len(o.rs)
	return o.standsReady(n, now) && o.rs[o.standing(n)].body.(*record.Check).Pouch == pouch
}

// approved reports whether a check was made at the approval that stands.
func (o *oracle) approved(n int, c *record.Check, now record.Time) bool {
	seq := o.approval(n, c.Pouch, now)
	return seq != record.None && seq == c.Approval
}

// approval is the one that stands for a pouch, None if none does.
func (o *oracle) approval(n int, pouch record.ID, now record.Time) record.Seq {
	seq := record.None
	for j := range n {
		switch b := o.rs[j].body.(type) {
		case *record.ApprovalGiven:
			if o.ours[j] && b.Pouch == pouch {
				seq = o.rs[j].Seq
				if b.Provisional != 0 && b.Provisional < o.dayAt(now) {
					seq = record.None
				}
			}
		case *record.ApprovalEnded:
			if o.ours[j] && b.Pouch == pouch {
				seq = record.None
			}
		case *record.PouchRevised:
			if o.rs[j].Subject.ID == pouch && b.Recheck {
				seq = record.None
			}
		}
	}
	return seq
}

// pouch is the one that the sealer is set up for, as far as anybody said.
func (o *oracle) pouch(n int) (pouch record.ID) {
	for j := range n {
		switch b := o.rs[j].body.(type) {
		case *record.Check:
			if f := o.found[j]; f.gives || f.first {
				pouch = b.Pouch
			}
		case *record.Changeover:
			if o.found[j].took {
				pouch = b.Pouch
			}
		}
	}
	return pouch
}
