package rules_test

import (
	"slices"
	"time"

	"tidemark/server/record"
)

// need is what a sealer that is not ready waits for.
func (o *oracle) need(n int, now record.Time) record.Need {
	switch {
	case o.out(n) || o.retired(n) || o.standsReady(n, now):
		return record.NeedNothing
	case o.returning(n):
		return record.NeedReturn
	case o.last(n, func(j int) bool { return o.found[j].spare }) > o.last(n, o.made):
		return record.NeedPlaces
	}
	took := o.last(n, func(j int) bool { return o.found[j].took && !o.notYet(j) })
	if took > o.last(n, o.made) && o.sameDay(took, n, now) {
		switch o.rs[took].body.(type) {
		case *record.Check:
			return record.NeedFresh
		case *record.BadSeal:
			return record.NeedTestSeal
		}
	}
	return record.NeedCheck
}

func (o *oracle) notYet(j int) bool {
	c, ok := o.rs[j].body.(*record.Check)
	return ok && c.Outcome == record.NotYet
}

// sameDay reports whether no new operating day has begun from record k on, at
// records that moved the sealer or now. An early check belongs to the new day.
func (o *oracle) sameDay(k, n int, now record.Time) bool {
	day := o.dayAt(o.rs[k].now)
	for j := k + 1; j < n; j++ {
		if f := o.found[j]; f.took || f.gives || o.fix(j) {
			if o.dayAt(o.rs[j].now) > day {
				return false
			}
			if day = o.dayAt(o.rs[j].now); f.gives {
				day = o.through(j)
			}
		}
	}
	return o.dayAt(now) <= day
}

// notValid reports whether a test that was not valid is still being counted: no
// conclusive outcome and no new day since.
func (o *oracle) notValid(n int, now record.Time) bool {
	k := o.last(n, func(j int) bool { return o.found[j].first })
	return k > o.last(n, o.made) && k > o.last(n, o.stopped) && o.sameDay(k, n, now)
}

// rowFrom is where the row of good checks that count together begins: after the
// last record that starts it again.
func (o *oracle) rowFrom(n int) int {
	return o.last(n, func(j int) bool {
		f := o.found[j]
		return f.ready || f.took && !f.spare || o.fix(j)
	})
}

// good counts the good checks of the row so far.
func (o *oracle) good(n int, now record.Time) (count int) {
	if need := o.need(n, now); need != record.NeedReturn && o.of(n, now) < 2 {
		return 0
	}
	for j := o.rowFrom(n) + 1; j < n; j++ {
		if o.found[j].gives {
			count++
		}
	}
	return count
}

// of is how many good checks are wanted.
func (o *oracle) of(n int, now record.Time) int {
	switch o.need(n, now) {
	case record.NeedFresh:
		return 2
	case record.NeedReturn:
		if o.last(n, func(j int) bool { return o.found[j].first }) > o.last(n, o.fix) {
			return max(2, o.plan.ReturnGood)
		}
		return o.plan.ReturnGood
	case record.NeedCheck:
		if o.doubted(n, now) {
			return 2
		}
	}
	return 1
}

// doubted: a test that was not valid is still being counted, and no disturbance
// since came surely after it and after the good checks since: two whole checks.
func (o *oracle) doubted(n int, now record.Time) bool {
	test := o.last(n, func(j int) bool { return o.found[j].first })
	if !o.notValid(n, now) {
		return false
	}
	since := o.rs[test].Happened.From
	for j := test + 1; j < n; j++ {
		h := o.rs[j].Happened
		if o.found[j].gives {
			since = o.found[j].start
		}
		if o.found[j].took && !o.notYet(j) && h.Said != record.Doubtful && h.From > since.Add(twoMinutes) {
			return false
		}
	}
	return true
}

// startOf is since when nothing can have come between the checks behind k.
func (o *oracle) startOf(k int, now record.Time) record.Time {
	switch o.need(k, now) {
	case record.NeedTestSeal:
		return o.found[o.last(k, o.made)].start
	case record.NeedFresh:
		return o.rs[o.last(k, func(j int) bool { return o.found[j].first })].Happened.From
	default:
		for j := o.rowFrom(k) + 1; j < k && o.good(k, now) > 0; j++ {
			if o.found[j].gives {
				return o.rs[j].Happened.From
			}
		}
	}
	return o.rs[k].Happened.From
}

// wait is how long after a record a check makes no sense.
func (o *oracle) wait(j int) time.Duration {
	minutes := 0
	switch b := o.rs[j].body.(type) {
	case *record.Disturbance:
		if minutes = b.Minutes; minutes == 0 && b.What == record.PowerOff {
			minutes = o.plan.WarmMinutes
		}
	case *record.Changeover:
		minutes = b.Minutes // the test always says them
	}
	return time.Duration(minutes) * time.Minute
}

// until is when the sealer has settled, by all that happened to it since it was
// last ready or stopped.
func (o *oracle) until(n int) (until record.Time) {
	for j := max(o.last(n, o.made), o.last(n, o.stopped)) + 1; j < n; j++ {
		if wait := o.wait(j); o.found[j].took && wait > 0 {
			until = max(until, o.rs[j].Happened.To.Add(wait))
		}
	}
	return until
}

func (o *oracle) settling(n int, now record.Time) bool {
	return !o.standsReady(n, now) && o.until(n) > now
}

// gives: RULES.md R8, word by word.
func (o *oracle) gives(k int, c *record.Check) bool {
	r, now := &o.rs[k], o.rs[k].now
	ready := o.standsReady(k, now)
	switch {
	case o.retired(k) || o.out(k):
		return false
	case !ready && r.Happened.From < o.until(k):
		return false
	case ready && o.lastStart(k) > r.Happened.From:
		return false
	case !o.approved(k, c, now):
		return false
	case o.onePouch(k, now) && !o.pouch(k).IsZero() && o.pouch(k) != c.Pouch:
		return false
	case o.through(k) < o.dayAt(now):
		return false
	case !o.enough(o.need(k, now), c):
		return false
	case r.Happened.Said == record.Doubtful || r.Via == record.ViaNone || r.Via == record.ViaImport:
		return false
	}
	return o.nothingBetween(k)
}

// onePouch reports whether only the pouch that the sealer is set up for will do:
// when it is ready, after a changeover, and in a row.
func (o *oracle) onePouch(n int, now record.Time) bool {
	moved := o.last(n, func(j int) bool { return o.found[j].took || o.found[j].ready || o.fix(j) })
	if moved >= 0 {
		if _, ok := o.rs[moved].body.(*record.Changeover); ok {
			return true
		}
	}
	need := o.need(n, now)
	return o.standsReady(n, now) || need == record.NeedFresh || need == record.NeedTestSeal || o.good(n, now) > 0
}

// enough reports whether a check was made at the places and by the tests wanted.
func (o *oracle) enough(need record.Need, c *record.Check) bool {
	places, tests := o.plan.Places, o.plan.Tests
	switch need {
	case record.NeedTestSeal:
		return true
	case record.NeedFresh:
		places = nil
	case record.NeedPlaces:
		places = threePlaces
	}
	for _, p := range places {
		if !slices.Contains(c.Places, p) && !slices.Contains(c.Places, record.Whole) {
			return false
		}
	}
	for _, t := range tests {
		if !slices.Contains(c.Tests, t) {
			return false
		}
	}
	return true
}

// nothingBetween: everything that ever takes Ready had ended before the check
// began, and its sender had seen everything that touched the sealer; what stands
// earlier in the same device's queue is known by its order.
func (o *oracle) nothingBetween(k int) bool {
	r := &o.rs[k]
	for j := range k {
		takes, touches := o.kind(j)
		if !o.ours[j] || !touches {
			continue
		}
		t := &o.rs[j]
		own := !r.Dev.IsZero() && t.Dev == r.Dev && t.DevN > 0 && t.DevN < r.DevN
		limit := r.Happened.From
		if r.fact {
			limit = limit.Add(-twoMinutes)
		}
		if own {
			limit = r.Happened.From.Add(twoMinutes)
		}
		if takes && t.Happened.To > limit {
			return false
		}
		if r.fact && !own && int64(t.Seq) >= r.Seen {
			return false
		}
	}
	return true
}

// kind reports whether a record is of a kind that takes Ready away, and whether it
// takes, decides or checks at all.
func (o *oracle) kind(j int) (takes, touches bool) {
	switch b := o.rs[j].body.(type) {
	case *record.Check:
		return b.Outcome != record.Pass, true
	case *record.BadSeal:
		takes = !b.MakersSeal && b.Kind != record.SecondSeal
	case *record.Changeover, *record.Disturbance, *record.SealerMoved, *record.SealerRetired, *record.HandedBack,
		*record.FirstLineFix, *record.Work:
		takes = true
	case *record.ApprovalGiven:
		takes = b.Pouch == o.pouch(j) && !o.out(j) && !o.retired(j)
	case *record.ApprovalEnded:
		takes = b.Pouch == o.pouch(j) && !o.out(j) && !o.retired(j)
	}
	return takes, takes
}
