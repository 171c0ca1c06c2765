package rules_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// badPack is a fault as far as packs go: when the bad pack was sealed.
type badPack struct {
	from, to record.Time
	pouch    record.ID
	kind     record.Fault
	place    record.Place
	seen     bool // not only a test that said nothing
}

// trouble is a problem as the oracle sees it: the faults until the sealer is back,
// and those told later that belong before its repair.
type trouble struct {
	faults   []badPack
	fixed    record.Time // last handed back or fixed
	end      record.Time // nobody sealed on after it
	returned bool
}

// troubles groups the sealer's faults.
func (o *oracle) troubles() []*trouble {
	var all []*trouble
	var open *trouble
	for k := range o.rs {
		switch {
		case !o.ours[k]:
		case o.found[k].ready && open != nil:
			open.returned, open = true, nil
		case o.fix(k) || o.tag(k):
			if open.end == 0 {
				open.end = o.rs[k].Happened.To
			}
			if o.fix(k) {
				open.fixed = o.rs[k].Happened.To
			}
		default:
			f, bad := o.faultOf(k, open != nil)
			if !bad {
				continue
			}
			t := o.returnedBefore(all, k)
			if t == nil && open == nil {
				open = &trouble{}
				all = append(all, open)
			}
			if t == nil {
				t = open
				if o.fixedSinceStop(k) {
					t.end = 0 // back in the workplace for a while: until it is tagged again
				}
			}
			t.faults = append(t.faults, f)
			if o.retired(k) && !o.openAtRetirement(k) {
				open = nil // each pack of a sealer that is gone is a matter of its own
			}
		}
	}
	return all
}

func (o *oracle) tag(k int) bool { _, ok := o.rs[k].body.(*record.Tagged); return ok && o.ours[k] }

// fixedSinceStop: the fault came during return checks.
func (o *oracle) fixedSinceStop(k int) bool {
	return o.returning(k) && !o.found[k].spare && !o.retired(k)
}

func (o *oracle) openAtRetirement(k int) bool {
	gone := o.last(k, func(j int) bool { _, ok := o.rs[j].body.(*record.SealerRetired); return ok && o.ours[j] })
	pending := o.last(gone, func(j int) bool { return o.found[j].stops || o.found[j].spare })
	return pending > o.last(gone, o.made)
}

func (o *oracle) returnedBefore(all []*trouble, k int) *trouble {
	if h := o.rs[k].Happened; h.Said != record.Doubtful {
		for _, t := range all {
			if t.returned && t.fixed > h.To.Add(twoMinutes) {
				return t
			}
		}
	}
	return nil
}

// faultOf reports what record k says of a bad pack: a report that stops or asks
// for all places, a failed check, and a test that was not valid if it counts as
// one or comes while the sealer is out.
func (o *oracle) faultOf(k int, open bool) (badPack, bool) {
	h := o.rs[k].Happened
	f := badPack{from: h.From, to: h.To, seen: true}
	if o.found[k].took { // where the report moves nothing, nobody knows which pouch it was
		f.pouch = o.pouch(k)
	}
	switch b := o.rs[k].body.(type) {
	case *record.Check:
		f.pouch, f.kind, f.place, f.seen = b.Pouch, b.Kind, b.Place, b.Outcome == record.Fail
		counts := o.found[k].stops || open && o.out(k) || o.returnedAfter(k) && o.notValid(k, o.rs[k].now)
		return f, b.Outcome == record.Fail || b.Outcome == record.NotValid && counts
	case *record.BadSeal:
		if !b.Pouch.IsZero() {
			f.pouch = b.Pouch
		}
		f.kind, f.place = b.Kind, b.Place
		if b.SealedAt != nil {
			f.from, f.to = b.SealedAt.From, b.SealedAt.To
		}
		return f, rules.ConsequenceOf(*b) == rules.Stops
	}
	return f, false
}

// holds reports whether a pack of the log lies in a window of a trouble.
func (o *oracle) holds(t *trouble, pouch record.ID, at record.Span, begins, now record.Time) bool {
	seen := slices.ContainsFunc(t.faults, func(f badPack) bool { return f.seen })
	same := slices.ContainsFunc(t.faults, func(f badPack) bool { return f.pouch == pouch || f.pouch.IsZero() })
	if !seen && !same {
		return false
	}
	for _, f := range t.faults {
		end := now
		if t.end != 0 {
			end = t.end
		}
		from, to := min(begins, f.from), max(end, f.to)
		last := to
		for j := range o.rs {
			c, ok := o.rs[j].body.(*record.Check)
			if !ok || !o.ours[j] || c.Pouch != f.pouch || !o.witnessed(j) {
				continue
			}
			began := o.rs[j].Happened.From
			if began <= f.from {
				from = max(from, began)
			}
			if began > f.to && began <= last {
				to = min(to, began)
			}
		}
		if at.To >= from && at.From <= to {
			return true
		}
	}
	return false
}

// RULES.md R9: the packs on hold are those that lie between the last good check
// before a bad pack was sealed and the first one after it, or the tag.
func TestPacksOnHoldAreThoseThatAllTheRecordsSay(t *testing.T) {
	held := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			w.step()
		}
		if len(w.its(w.s).Touches) == 16 {
			return
		}
		want := map[record.ID]bool{}
		for _, tr := range w.oracle.troubles() {
			for k := range w.oracle.rs {
				p, ok := w.oracle.rs[k].body.(*record.Packs)
				if ok && w.oracle.holds(tr, p.Pouch, w.oracle.rs[k].Happened, w.its(w.s).Begins, w.now()) {
					want[w.oracle.rs[k].ID] = true
				}
			}
		}
		held += len(want)
		require.Equal(rt, want, w.onHold(rules.WhatBadSeal, rules.WhatFailedCheck, rules.WhatNotValid), w.story())
	})
	require.Positive(t, held)
}

// onHold are the packs on the lists of problems of some kinds.
func (w *world) onHold(kinds ...string) map[record.ID]bool {
	packs := map[record.ID]bool{}
	for _, id := range w.its(w.s).Problems {
		p := w.problem(id)
		if !slices.Contains(kinds, p.What) {
			continue
		}
		hold := w.hold(id)
		for _, k := range slices.Concat(hold.Packs, hold.Apart) {
			packs[k.ID] = true
		}
	}
	return packs
}

// RULES.md, tests that prove it, 2: adding a late good fact never removes a pack
// from a hold.
func TestALateGoodFactTakesNoPackOffAHold(t *testing.T) {
	all := []string{rules.WhatBadSeal, rules.WhatFailedCheck, rules.WhatNotValid, rules.WhatUnready}
	kept := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 30).Draw(rt, "steps") {
			w.step()
		}
		before := w.onHold(all...)
		e := w.direct()
		ago := w.aWhile()
		if rapid.Bool().Draw(rt, "typed") {
			e.Happened = record.Span{From: w.now().Add(-ago), To: w.now().Add(-ago), Said: record.Typed}
		} else {
			e.Queued, e.Happened = true, record.Moment(w.now().Add(-ago-lateAfter-time.Second))
		}
		x := thing{name: "late good", decide: w.aCheck("pass", w.aPouch())}
		switch problem := w.standing(w.s).Problem; {
		case rapid.Bool().Draw(rt, "a tag"):
			x = thing{name: "late tag", decide: func(e rules.Entry) decision {
				return func(v record.View, now record.Time) ([]rules.Draft, error) {
					return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: problem, Step: &record.Tagged{}}, now)
				}
			}}
		}
		w.tell(x, e)
		after := w.onHold(all...)
		for id := range before {
			kept++
			require.True(rt, after[id], w.story())
		}
	})
	require.Positive(t, kept)
}
