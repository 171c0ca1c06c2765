package rules_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// call tells the next one on the route of a problem.
func (h *house) call(problem record.ID, n int, to record.ID) error {
	p := h.problem(problem)
	c := record.Called{Cause: p.Round.Cause, N: n, To: to, Mail: true}
	e := rules.Entry{ID: p.Round.Cause.Derive("tell " + string(rune('0'+n))), Via: record.ViaClock}
	_, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.TellNext(v, rules.SaidCall{Entry: e, Problem: problem, Call: c}, now)
	})
	return err
}

func TestTheRouteIsGoneOnlyUntilSomebodyHasSeenIt(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	require.True(t, rules.Unseen(h, h.problem(p), h.now()))
	require.NoError(t, h.call(p, 0, h.engineer))
	require.Equal(t, 1, h.problem(p).Round.Next)
	require.Error(t, h.call(p, 0, h.engineer), "a step is made once")
	h.step(p, &record.Seen{})
	require.False(t, rules.Unseen(h, h.problem(p), h.now()))
	require.Equal(t, fault.Stale, fault.CodeOf(h.call(p, 1, h.lead)))
}

func TestAFailedReturnCheckBeginsTheRouteAnew(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	require.NoError(t, h.call(p, 0, h.engineer))
	h.step(p, &record.Seen{})
	h.handBack(p)
	require.False(t, rules.Unseen(h, h.problem(p), h.now()))
	failed := h.tested(s, h.paper, record.Fail)
	again := h.problem(p)
	require.True(t, rules.Unseen(h, again, h.now()), "whoever saw the first fault has not seen this one")
	require.Equal(t, rules.Round{Cause: failed.ID, At: failed.At}, again.Round)
	require.NoError(t, h.call(p, 0, h.engineer))
}

func TestASecondFaultOfASealerThatIsOutBeginsNoRoute(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	before := h.problem(p).Round
	h.found(s, record.Burn)
	require.Equal(t, before, h.problem(p).Round)
}

func TestABadPackFoundElsewhereRingsWhenItsCheckFails(t *testing.T) {
	h, s, p := startAt(t, "all places wanted")
	require.False(t, rules.Unseen(h, h.problem(p), h.now()), "the sealer is not out")
	h.tested(s, h.paper, record.Fail)
	require.True(t, rules.Unseen(h, h.problem(p), h.now()))
}

func TestItIsUrgentOnlyIfAPouchHasNoSealerLeft(t *testing.T) {
	h := newHouse(t)
	one, two := h.bar("1"), h.bar("2")
	p := h.found(one, record.Channel).ID
	require.False(t, rules.Urgent(h, h.its(one), h.now()), "sealer 2 only needs its check")
	other := h.found(two, record.Channel).ID
	require.True(t, rules.Urgent(h, h.its(one), h.now()), "both are out")
	h.handBack(other)
	require.False(t, rules.Urgent(h, h.its(one), h.now()), "return checks are made here")
	h.setUp(sealerOf(two), &record.ApprovalEnded{Pouch: h.paper, Why: "IFU withdrawn"})
	require.True(t, rules.Urgent(h, h.its(one), h.now()), "sealer 2 is not approved any more")
	require.NotZero(t, p)
}

func TestOfTwoWhoTakeAProblemAtOnceOneIsToldWhoWon(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	page := h.size()
	take := func(by record.ID, seen int64) error {
		e := h.direct()
		e.By, e.Seen = by, seen
		_, err := h.stepBy(e, p, &record.Work{Stage: record.AtWork})
		return err
	}
	require.NoError(t, take(h.engineer, page))
	err := take(h.lead, page)
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	var taken *rules.TakenError
	require.True(t, errors.As(err, &taken))
	require.Equal(t, h.engineer, taken.By)
	require.NoError(t, take(h.engineer, page), "who has it may go on, from an older page too")
	require.NoError(t, take(h.lead, h.size()), "who has seen that takes it over")
	require.Equal(t, h.lead, h.problem(p).Taken.By)
}

// The watch begins with the return, ends after the days, and only
// "no fault found" begins it.
func TestAFaultWhileASealerIsWatchedIsForEngineeringOnly(t *testing.T) {
	fix := &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"}
	for name, c := range map[string]struct {
		finding string
		after   time.Duration
		watched bool
	}{
		"an hour after":        {"none-found", time.Hour, true},
		"on the last day":      {"none-found", rules.WatchDays*24*time.Hour - time.Minute, true},
		"when it is over":      {"none-found", rules.WatchDays * 24 * time.Hour, false},
		"after a fault, found": {"element", time.Hour, false},
	} {
		t.Run(name, func(t *testing.T) {
			h, s, p := startAt(t, "out of service")
			h.step(p, &record.HandedBack{Finding: c.finding, Action: "nothing"})
			for h.standing(s).State != record.Ready {
				h.pass(s, h.paper)
			}
			h.later(c.after)
			before, until := rules.Watched(h, h.its(s), h.now())
			require.Equal(t, c.watched, before != nil)
			if c.watched {
				require.Equal(t, h.problem(p).Returned.Add(rules.WatchDays*24*time.Hour), until)
			}
			next := h.found(s, record.Weak).ID
			require.Equal(t, c.watched, rules.OnlyEngineering(h, h.problem(next)))
			_, err := h.try(next, fix)
			require.Equal(t, c.watched, err != nil, "%v", err)
		})
	}
}

func TestADepartmentSaysHowLongASealerIsWatched(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.RouteSet{Minutes: 30, WatchDays: 2})
	h.step(p, &record.HandedBack{Finding: "none-found", Action: "nothing"})
	for h.standing(s).State != record.Ready {
		h.pass(s, h.paper)
	}
	h.later(47 * time.Hour)
	before, _ := rules.Watched(h, h.its(s), h.now())
	require.NotNil(t, before)
	h.later(time.Hour)
	before, _ = rules.Watched(h, h.its(s), h.now())
	require.Nil(t, before)
}

func TestARouteThatNobodyCouldGoIsRefused(t *testing.T) {
	h := newHouse(t)
	good := record.RouteSet{People: []record.OnRoute{{Person: h.engineer, Mail: true}}, Minutes: 30, WatchDays: 14}
	dept := record.Subject{Type: record.Department, ID: h.dept}
	h.setUp(dept, &good)
	for field, change := range map[string]func(*record.RouteSet){
		"minutes":    func(r *record.RouteSet) { r.Minutes = 0 },
		"watch_days": func(r *record.RouteSet) { r.WatchDays = 366 },
		"hours":      func(r *record.RouteSet) { r.Hours = []record.Opening{{Day: 1, From: 600, To: 600}} },
		"closed":     func(r *record.RouteSet) { r.Closed = []record.Days{{From: 2, To: 1}} },
		"people":     func(r *record.RouteSet) { r.People = []record.OnRoute{{Person: h.tech, Mail: true}} },
	} {
		bad := good
		change(&bad)
		_, err := h.trySetUp(dept, &bad)
		var f *fault.Error
		require.True(t, errors.As(err, &f), field)
		require.Equal(t, field, f.Field)
	}
	for name, hours := range map[string][]record.Opening{
		"begins on another day": {{Day: 1, From: 1440, To: 1500}},
		"lasts for two nights":  {{Day: 1, From: 0, To: 2881}},
		"on no day":             {{Day: 7, From: 0, To: 60}},
		"overlap":               {{Day: 1, From: 0, To: 600}, {Day: 2, From: 0, To: 600}, {Day: 1, From: 599, To: 700}},
	} {
		bad := good
		bad.Hours = hours
		_, err := h.trySetUp(dept, &bad)
		require.True(t, fault.Is(err, fault.Invalid), name)
	}
	split := good
	split.Hours = []record.Opening{{Day: 1, From: 0, To: 600}, {Day: 1, From: 600, To: 1800}, {Day: 2, From: 1320, To: 2880}}
	h.setUp(dept, &split)
	silent := good
	silent.People = []record.OnRoute{{Person: h.engineer}}
	_, err := h.trySetUp(dept, &silent)
	require.ErrorContains(t, err, "how each of them is told")
	hooked := good
	hooked.People = []record.OnRoute{{Person: h.engineer, Hook: record.ID{7}}}
	_, err = h.trySetUp(dept, &hooked)
	require.ErrorContains(t, err, "not in use")
}

func TestANumberLeadsToTheSealerThatHadItThen(t *testing.T) {
	h := newHouse(t)
	old, kept := h.bar("2"), h.bar("4")
	h.at("2026-02-01 08:00")
	h.setUp(sealerOf(old), &record.SealerChanged{SealerFacts: record.SealerFacts{Number: "7", Type: record.BarDial}})
	h.at("2026-02-10 08:00")
	next := h.newID()
	h.setUp(sealerOf(next), &record.SealerAdded{Code: "NEW", SealerFacts: record.SealerFacts{Number: "2", Type: record.BarDial}})
	at := func(text string) record.Span { return record.Span{From: local(text), To: local(text)} }
	ids := func(number, text string) (list []record.ID) {
		for _, s := range rules.SealersNumbered(h, number, at(text)) {
			list = append(list, s.ID)
		}
		return list
	}
	require.Equal(t, []record.ID{old, next}, ids("2", "2026-01-20 08:00"), "nobody knows where the new one came from")
	require.Equal(t, []record.ID{next}, ids("2", "2026-02-05 08:00"), "after the first has changed it")
	require.Equal(t, []record.ID{old}, ids("7", "2026-02-05 08:00"))
	require.Empty(t, ids("7", "2026-01-20 08:00"))
	require.Equal(t, []record.ID{kept}, ids("4", "2026-01-20 08:00"))
}
