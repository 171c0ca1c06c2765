package rules_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// step lets one thing happen in a world.
func (w *world) step() {
	w.clock = w.clock.Add(w.aWhile())
	p := rapid.SampledFrom(w.phones).Draw(w.rt, "phone")
	switch rapid.SampledFrom([]string{"direct", "direct", "direct", "stale", "keep", "typed", "kept", "kept", "send", "send", "sync", "office", "office", "odd", "back"}).Draw(w.rt, "how") {
	case "direct":
		w.tell(w.any(), w.direct())
	case "stale", "keep":
		e := w.direct()
		e.Seen -= int64(rapid.IntRange(0, 4).Draw(w.rt, "missed"))
		e.Keep = rapid.Bool().Draw(w.rt, "keep")
		w.tell(w.any(), e)
	case "typed":
		e := w.direct()
		to := w.clock.Add(-w.aWhile())
		e.Happened = record.Span{From: to.Add(-time.Duration(rapid.IntRange(0, 5).Draw(w.rt, "span")) * time.Minute), To: to, Said: record.Typed}
		w.tell(w.any(), e)
	case "kept":
		p.queue = append(p.queue, w.any())
	case "send":
		if len(p.queue) > 0 {
			w.send(p)
		}
	case "sync":
		p.seen = w.size()
	case "office":
		w.office()
	case "odd":
		e := w.direct()
		e.Via = rapid.SampledFrom([]record.Via{record.ViaNone, record.ViaImport, record.ViaPIN}).Draw(w.rt, "via")
		if rapid.Bool().Draw(w.rt, "doubtful") {
			e.Queued, e.Happened = true, record.Span{From: w.clock, To: w.clock, Said: record.Doubtful}
		}
		w.tell(w.any(), e)
	case "back":
		w.clock = w.clock.Add(-w.aWhile())
	}
}

// story is what was told so far.
func (w *world) story() string { return "\n" + strings.Join(w.acts, "\n") }

// requireAsTheOracleSays compares what the rules say with what the records say.
func (w *world) requireAsTheOracleSays() {
	if len(w.its(w.s).Touches) == 16 {
		return // more than is remembered; TestWhatIsNoLongerRememberedStillStandsInTheWay
	}
	n, now := len(w.oracle.rs), w.now()
	st, story := w.standing(w.s), w.story()
	out, retired := w.oracle.out(n), w.oracle.retired(n)
	require.Equal(w.rt, retired, st.State == record.Retired, story)
	require.Equal(w.rt, out && !retired, st.State == record.OutOfService || st.State == record.WithEngineering, story)
	for _, pouch := range []record.ID{w.paper, w.nonwoven} {
		for _, later := range []time.Duration{0, time.Hour, 12 * time.Hour, 24 * time.Hour, 30 * time.Hour} {
			at := now.Add(later)
			require.Equal(w.rt, w.oracle.maySeal(pouch, at), rules.MaySeal(w, w.its(w.s), pouch, at), "%s%s", at, story)
		}
	}
	require.Equal(w.rt, w.oracle.need(n, now), st.Need, story)
	require.Equal(w.rt, w.oracle.good(n, now), st.Good, story)
	require.Equal(w.rt, w.oracle.settling(n, now) && !out && !retired, st.State == record.NotReady, story)
}

func TestReadinessIsWhatAllTheRecordsSay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			w.step()
			w.requireAsTheOracleSays()
		}
	})
}

// keep is the state as a snapshot would bring it back.
func (b *book) keep(t require.TestingT) *book {
	kept := newBook(b.clock)
	for s, value := range b.state {
		read, err := rules.Decode(s.Type, jsonOf(t, value))
		require.NoError(t, err)
		kept.state[s] = read
	}
	return kept
}

// RULES.md R1 and R11: replay in one go equals replay step by step, and equals a
// snapshot cut anywhere with the rest folded on top; no value changes once it was
// set.
func TestReplayIsTheSameHoweverItIsCut(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		views := &watched{book: newBook(0), looked: map[any]string{}}
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			w.step()
		}
		cut := rapid.IntRange(0, len(w.records)).Draw(rt, "cut")
		var kept *book
		for i := range w.records {
			if i == cut {
				kept = views.book.keep(rt)
			}
			rules.Evolve(views, &w.records[i])
			if kept != nil {
				rules.Evolve(kept, &w.records[i])
			}
		}
		views.requireUnchanged(rt)
		require.Equal(rt, w.state, views.state)
		require.Equal(rt, w.state, w.replay().state)
		if kept != nil {
			require.Len(rt, kept.state, len(w.state))
			for s, value := range w.state {
				require.Equal(rt, string(jsonOf(rt, value)), string(jsonOf(rt, kept.state[s])), s)
			}
		}
	})
}

// RULES.md, tests that prove it, 3: what decide claims in a record is what folding
// it leaves behind; and what it does not claim is as it was.
func TestFoldingDoesJustWhatWasDecided(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			from := len(w.records)
			w.step()
			for k := from; k < len(w.records); k++ {
				before := newBook(0)
				for i := range k {
					rules.Evolve(before, &w.records[i])
				}
				old := before.keep(rt)
				rules.Evolve(before, &w.records[k])
				requireClaims(rt, &w.records[k], old, before, w.s)
			}
		}
	})
}

func requireClaims(t require.TestingT, r *record.Record, before, after *book, s record.ID) {
	old, now := rules.GetSealer(before, s), rules.GetSealer(after, s)
	want := old.Readiness
	if claim := r.Effect.Readiness; claim != nil {
		want = *claim
		if want.State == record.Ready {
			want.Check = r.Seq
		}
	}
	require.Equal(t, want, now.Readiness)
	numbers := rules.GetSite(before).Problems
	if n := r.Effect.Opens; n > 0 {
		require.Equal(t, numbers+1, n)
		numbers = n
		p := rules.GetProblem(after, r.ID)
		require.Equal(t, []any{n, r.Seq, r.Dept}, []any{p.Number, p.Opened, p.Dept})
		require.Contains(t, rules.GetDepartment(after, r.Dept).Open, r.ID)
		require.Nil(t, rules.GetProblem(before, r.ID))
	}
	require.Equal(t, numbers, rules.GetSite(after).Problems)
	if p := rules.GetProblem(after, r.Effect.Joins); p != nil {
		require.Contains(t, p.Joined, r.Seq)
		require.Zero(t, p.Closed)
	}
	require.GreaterOrEqual(t, rules.GetDepartment(after, r.Dept).LastDay, rules.GetDepartment(before, r.Dept).LastDay)
}

// RULES.md R7: the operating day never goes back, whatever clocks and settings do.
func TestTheOperatingDayNeverGoesBack(t *testing.T) {
	zones := []string{"America/New_York", "Pacific/Kiritimati", "Pacific/Honolulu", "Australia/Lord_Howe"}
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		day, last, now := record.Date(0), record.Date(0), record.Time(0)
		for range rapid.IntRange(1, 30).Draw(rt, "steps") {
			if rapid.IntRange(0, 4).Draw(rt, "settings") == 0 {
				d := rules.GetDepartment(w, w.dept)
				b := &record.DepartmentChanged{Name: d.Name, DepartmentSettings: d.DepartmentSettings}
				b.DayStart = rapid.IntRange(0, 24*60-1).Draw(rt, "day start")
				b.Zone = rapid.SampledFrom(zones).Draw(rt, "zone")
				w.setUp(record.Subject{Type: record.Department, ID: w.dept}, b)
			}
			w.step()
			d := rules.GetDepartment(w, w.dept)
			require.GreaterOrEqual(rt, d.LastDay, last, "the newest that a record saw")
			today := d.Day(w.now())
			require.GreaterOrEqual(rt, today, d.LastDay)
			if w.now() >= now {
				require.GreaterOrEqual(rt, today, day)
			}
			require.Greater(rt, d.Next(w.now()), w.now())
			require.Equal(rt, today+1, d.Day(d.Next(w.now())))
			day, last, now = today, d.LastDay, w.now()
		}
	})
}

// The first law, by the records' own times: a ready sealer was tested after the
// end of every disturbance, by two minutes more if the test was there first.
func TestNothingIsReadyAfterAnUnansweredDisturbance(t *testing.T) {
	ready := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			w.step()
			if w.standing(w.s).State != record.Ready {
				continue
			}
			ready++
			for e, disturbance := range w.oracle.rs {
				switch disturbance.body.(type) {
				case *record.Changeover, *record.Disturbance, *record.SealerMoved:
					require.True(rt, w.testedAfter(e), "%s %s%s", disturbance.Kind, disturbance.Happened.To, w.story())
				}
			}
		}
	})
	require.Positive(t, ready)
}

func (w *world) testedAfter(e int) bool {
	d := w.oracle.rs[e]
	return slices.ContainsFunc(w.oracle.rs, func(r told) bool {
		c, ok := r.body.(*record.Check)
		switch {
		case !ok || c.Outcome != record.Pass && c.Outcome != record.NotValid:
			return false
		case r.Seq > d.Seq:
			return r.Happened.From >= d.Happened.To || ownQueue(d, r)
		}
		return d.Happened.Said != record.Doubtful && r.Happened.From > d.Happened.To.Add(twoMinutes)
	})
}

// ownQueue: one phone knows the order of what it kept, whatever its clock did.
func ownQueue(e, r told) bool {
	return !e.Dev.IsZero() && e.Dev == r.Dev && e.DevN < r.DevN && r.Happened.From >= e.Happened.To.Add(-twoMinutes)
}
