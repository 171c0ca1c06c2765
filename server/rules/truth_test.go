package rules_test

import (
	"cmp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// event is a record with the time at which it truly happened, which no record
// knows: the server's clock is right, a phone's is off by up to a minute, so that
// two honest clocks are within two minutes of each other.
type event struct {
	record.Record
	body     record.Body
	from, to record.Time
}

// truth is everything that was recorded, in true order. It says "ready" as
// DESIGN.md section 5 does: the last check passed, and nothing since.
type truth struct {
	events []event
	plan   record.Plan
	sealer record.ID
}

// blur is how far a true time may be from what a record says.
const blur = time.Minute

func (tr *truth) sort() {
	slices.SortStableFunc(tr.events, func(a, b event) int {
		if a.Dev == b.Dev && !a.Dev.IsZero() {
			return cmp.Compare(a.DevN, b.DevN)
		}
		return cmp.Compare(a.from, b.from)
	})
}

// ready reports whether in true order some check of the pouch makes the sealer
// ready at an instant: one that answers everything that ever happened to it.
func (tr *truth) ready(pouch record.ID, approval record.Seq, now record.Time) bool {
	for g := range tr.events {
		c, ok := tr.events[g].body.(*record.Check)
		if ok && c.Outcome == record.Pass && c.Pouch == pouch && c.Approval == approval && tr.lasts(g, now) && tr.answersAll(g) {
			return true
		}
	}
	return false
}

// lasts reports whether a check counts for the operating day of an instant, by
// its true time give or take.
func (tr *truth) lasts(g int, now record.Time) bool {
	var o oracle
	return o.dayAt(tr.events[g].from.Add(earlyCheck+blur)) >= o.dayAt(now)
}

func (tr *truth) answersAll(g int) bool {
	for e := range tr.events {
		if e != g && !tr.answers(g, e) {
			return false
		}
	}
	return true
}

// answers reports whether good check g puts event e to rest.
func (tr *truth) answers(g, e int) bool {
	ev, after := &tr.events[e], func(k int) bool { return tr.after(k, e) }
	full := slices.ContainsFunc(tr.passes(g), func(k int) bool { return after(k) && tr.full(k) })
	switch b := ev.body.(type) {
	case *record.Check:
		switch b.Outcome {
		case record.Fail:
			return tr.returned(g, e)
		case record.NotYet:
			return full || tr.rowAfter(g, e)
		case record.NotValid:
			fresh := 0
			for _, k := range tr.passes(g) {
				if after(k) {
					fresh += len(tr.events[k].body.(*record.Check).Places) // a pouch at each
				}
			}
			var o oracle
			return fresh >= 2 || tr.disturbedAfter(g, e) || tr.returned(g, e) || after(g) && o.dayAt(tr.events[g].from.Add(blur)) > o.dayAt(ev.to.Add(-blur))
		}
	case *record.BadSeal:
		switch rules.ConsequenceOf(*b) {
		case rules.Repackage:
			return after(g)
		case rules.Stops:
			return tr.returned(g, e) || b.SealedAt != nil && after(g)
		}
	case *record.Changeover, *record.Disturbance, *record.SealerMoved:
		return full || tr.rowAfter(g, e)
	}
	return true
}

// after reports whether event k began after event e had ended.
func (tr *truth) after(k, e int) bool {
	a, b := &tr.events[k], &tr.events[e]
	if !a.Dev.IsZero() && a.Dev == b.Dev {
		return a.DevN > b.DevN
	}
	return a.from >= b.to
}

// passes are g and the good checks of its pouch before it.
func (tr *truth) passes(g int) (list []int) {
	pouch := tr.events[g].body.(*record.Check).Pouch
	for k := range g + 1 {
		if c, ok := tr.events[k].body.(*record.Check); ok && c.Outcome == record.Pass && c.Pouch == pouch {
			list = append(list, k)
		}
	}
	return list
}

func (tr *truth) full(k int) bool {
	o := oracle{plan: tr.plan}
	return o.enough(record.NeedCheck, tr.events[k].body.(*record.Check))
}

// rowAfter: a disturbance before a test that was not valid is answered by the two
// fresh pouches after that (RULES.md R20).
func (tr *truth) rowAfter(g, e int) bool {
	for k := e + 1; k < len(tr.events); k++ {
		c, ok := tr.events[k].body.(*record.Check)
		if ok && c.Outcome == record.NotValid && tr.after(k, e) && tr.answers(g, k) {
			return true
		}
	}
	return false
}

// disturbedAfter: after a changeover, a disturbance or a new approval the whole
// check is due, after an old pack found elsewhere one at all places, whatever was
// asked for before (RULES.md R20).
func (tr *truth) disturbedAfter(g, e int) bool {
	for k := e + 1; k < len(tr.events); k++ {
		whole := false
		switch b := tr.events[k].body.(type) {
		case *record.Changeover, *record.Disturbance, *record.ApprovalGiven, *record.ApprovalEnded, *record.SealerMoved:
			whole = true
		case *record.BadSeal:
			whole = b.SealedAt != nil
		}
		if whole && tr.after(k, e) && tr.answers(g, k) {
			return true
		}
	}
	return false
}

// returned reports whether a fix came after the fault and g after the fix.
func (tr *truth) returned(g, e int) bool {
	for k := range tr.events {
		switch tr.events[k].body.(type) {
		case *record.HandedBack, *record.FirstLineFix:
			if tr.after(k, e) && tr.after(g, k) {
				return true
			}
		}
	}
	return false
}

// RULES.md, tests that prove it, 2: whatever the order of arrival and however the
// clocks are off, ready means ready in true order.
func TestReadyMeansReadyInTrueOrder(t *testing.T) {
	ready := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		tr := &truth{plan: w.oracle.plan, sealer: w.s}
		for range rapid.IntRange(1, 30).Draw(rt, "steps") {
			w.liveThrough(tr)
		}
		for _, p := range w.phones { // at last every phone finds the network
			for len(p.queue) > 0 {
				w.note(tr, p, p.queue[0])
			}
		}
		tr.sort()
		for _, pouch := range []record.ID{w.paper, w.nonwoven} {
			for _, later := range []time.Duration{0, 20 * time.Hour} {
				at := w.now().Add(later)
				if rules.MaySeal(w, w.its(w.s), pouch, at) {
					ready++
					require.True(rt, tr.ready(pouch, w.standing(w.s).Approval, at), "at %s\n%s", at, strings.Join(w.acts, "\n"))
				}
			}
		}
	})
	require.Positive(t, ready, "some of them end ready")
}

// liveThrough lets one thing truly happen and perhaps be told.
func (w *world) liveThrough(tr *truth) {
	w.clock = w.clock.Add(w.aWhile())
	p := rapid.SampledFrom(w.phones).Draw(w.rt, "phone")
	switch rapid.SampledFrom([]string{"direct", "direct", "direct", "keep", "kept", "kept", "kept", "send", "send", "sync", "office", "office"}).Draw(w.rt, "how") {
	case "direct", "keep":
		x, e := w.any(), w.direct()
		e.Keep = rapid.Bool().Draw(w.rt, "keep")
		e.Seen -= int64(rapid.IntRange(0, 4).Draw(w.rt, "missed"))
		records, err := w.tell(x, e)
		tr.add(records, err, x)
	case "kept":
		p.queue = append(p.queue, w.any())
	case "send":
		for range min(len(p.queue), rapid.IntRange(1, 3).Draw(w.rt, "sent")) {
			w.note(tr, p, p.queue[0])
		}
	case "sync":
		p.seen = w.size()
	case "office":
		before := len(w.records)
		w.office()
		tr.add(w.records[before:], nil, thing{at: w.clock, to: w.clock})
	}
}

func (w *world) note(tr *truth, p *pocket, x thing) {
	records, err := w.send(p)
	tr.add(records, err, x)
}

func (tr *truth) add(records []record.Record, err error, x thing) {
	if err != nil {
		return
	}
	for _, r := range records {
		if body, err := r.Content(); err == nil && r.Subject.Type != record.Pouch {
			tr.events = append(tr.events, event{Record: r, body: body, from: x.at, to: x.to})
		}
	}
}
