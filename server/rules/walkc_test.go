package rules_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// walkC is sealer 2 from 4 to 26 February, checked in the middle only, every day
// good, and packs of every day on the log.
type walkC struct {
	*house
	s     record.ID
	loads map[string]int // packs by day
	good  map[string]record.Seq
}

func tellWalkC(t *testing.T) *walkC {
	w := &walkC{house: newHouse(t), loads: map[string]int{}, good: map[string]record.Seq{}}
	w.plan(record.BarDial, func(p *record.Plan) { p.Places, p.ReturnGood = []record.Place{record.Middle}, 2 })
	w.s = w.bar("2")
	times := map[int]string{4: "06:11", 5: "06:10", 26: "06:11"}
	for day := 4; day <= 26; day++ {
		at := "06:08"
		if special, ok := times[day]; ok {
			at = special
		}
		date := fmt.Sprintf("2026-02-%02d", day)
		w.at(date + " " + at)
		w.good[date] = w.pass(w.s, w.paper).Seq
		w.log(date, day)
	}
	return w
}

// log counts the packs of a day, load by load, in two taps: just now.
func (w *walkC) log(date string, day int) {
	loads := []struct {
		load, at string
		count    int
	}{{"01", "09:00", 10}}
	switch day {
	case 4:
		loads[0].count = 39
	case 5:
		loads = []struct {
			load, at string
			count    int
		}{{"02", "08:30", 14}, {"03", "13:00", 20}, {"04", "22:40", 13}}
	case 26:
		loads[0].at, loads[0].count = "07:40", 12
	}
	for _, l := range loads {
		w.at(date + " " + l.at)
		e := w.direct()
		records, err := w.write(w.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.PacksSealed(v, rules.SaidPacks{Entry: e, Sealer: w.s, Packs: record.Packs{Pouch: w.paper,
				Count: l.count, Load: fmt.Sprintf("S2-02%02d-%s", day, l.load)}}, now)
		})
		require.NoError(w.t, err)
		require.Zero(w.t, records[0].Effect.Opens)
		w.loads[date] += l.count
	}
}

// aWholeDay is what a date on a pack says of when it was sealed.
func aWholeDay(day string) *record.Span {
	from := local(day + " 00:00")
	return &record.Span{From: from, To: from.Add(24*time.Hour - 1), Said: record.Typed}
}

// report is K. Boyle's find, taken by the department at 07:50.
func (w *walkC) report() *rules.Problem {
	w.at("2026-02-26 07:50")
	r := w.badSeal(w.direct(), w.s, record.BadSeal{Kind: record.Channel, Place: record.Left, Pouch: w.paper,
		Load: "S2-0205-03", Found: record.AtTheatre, SealedAt: aWholeDay("2026-02-05")})
	require.NotZero(w.t, r.Effect.Opens)
	return w.problem(r.ID)
}

func (w *walkC) between(b rules.Bounds, from, to string) {
	w.t.Helper()
	require.Equal(w.t, []record.Time{local(from), local(to)}, []record.Time{b.From, b.To}, "%s - %s", b.From, b.To)
}

func TestWalkCTheWindowHangsOnTheDayThePackWasSealed(t *testing.T) {
	w := tellWalkC(t)
	p := w.report()
	require.Equal(t, 47, w.loads["2026-02-05"])
	hold := w.hold(p.ID)
	w.between(hold.Proposed, "2026-02-05 06:10", "2026-02-06 06:08") // not "since 06:11 today"
	require.Equal(t, w.good["2026-02-05"], hold.Proposed.FromCheck)
	require.Equal(t, w.good["2026-02-06"], hold.Proposed.ToCheck)
	require.Equal(t, 47, hold.Total)
	require.Equal(t, local("2026-02-26 07:50"), hold.Possible.To, "the checks could not see the ends")
	require.True(t, hold.Open, "the lead answers for the difference")
	require.Len(t, hold.Packs, 3, "three loads")
	w.requireStands(w.s, record.CheckDue, record.NeedPlaces, rules.WhyElsewhere)
	_, err := w.check(w.direct(), w.s, record.Check{Pouch: w.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "left, right", "the plan's middle is not enough now")
}

func TestWalkCToTheThirdEnding(t *testing.T) {
	w := tellWalkC(t)
	p := w.report().ID
	w.failAtTheLeft(p)
	w.widenAndSettle(p)

	w.at("2026-02-27 09:00")
	w.step(p, &record.Work{Stage: record.AtWork, Order: "47960"})
	w.requireStands(w.s, record.WithEngineering, record.NeedNothing, rules.WhyAtWork)
	w.at("2026-02-27 13:30")
	w.plan(record.BarDial, func(p *record.Plan) { p.ReturnGood = 2 }) // left, middle, right from today
	w.at("2026-02-27 14:00")
	w.step(p, &record.HandedBack{Finding: "cover", Action: "replaced", Safety: "ok"})
	w.requireStands(w.s, record.CheckDue, record.NeedReturn, rules.WhyHandedBack)
	w.at("2026-02-27 14:10")
	w.pass(w.s, w.paper)
	require.Equal(t, []int{1, 2}, []int{w.standing(w.s).Good, w.standing(w.s).Of})
	w.at("2026-02-27 14:18")
	w.pass(w.s, w.paper)
	w.at("2026-02-27 14:20")
	w.requireReady(w.s, w.paper)
	require.Equal(t, "47960", w.problem(p).Order)

	_, err := w.try(p, &record.ProblemClosed{})
	require.ErrorContains(t, err, "The packs are not settled yet")
	w.at("2026-03-04 10:00")
	w.step(p, &record.PacksSettled{Packs: 98})
	w.step(p, &record.ProblemClosed{})
	closed := w.problem(p)
	require.Equal(t, []record.Time{local("2026-02-27 14:18"), local("2026-03-04 10:00"), local("2026-03-04 10:00")},
		[]record.Time{closed.Returned, closed.SettledAt, closed.Closed}, "three endings apart")
	require.Empty(t, rules.GetDepartment(w, w.dept).Open)
}

// failAtTheLeft is the check of 08:20 at all places, and the tag.
func (w *walkC) failAtTheLeft(p record.ID) {
	w.at("2026-02-26 08:20")
	r, err := w.check(w.direct(), w.s, record.Check{Pouch: w.paper, Outcome: record.Fail, Kind: record.Channel,
		Place: record.Left, Places: []record.Place{record.Left, record.Middle, record.Right}})
	require.NoError(w.t, err)
	require.Equal(w.t, p, r.Effect.Joins)
	w.requireStands(w.s, record.OutOfService, record.NeedNothing, rules.WhyFail)
	w.at("2026-02-26 08:25")
	w.step(p, &record.Tagged{SwitchedOff: true})
	hold := w.hold(p)
	require.Len(w.t, hold.Also, 1)
	w.between(hold.Also[0], "2026-02-26 06:11", "2026-02-26 08:25")
	require.Equal(w.t, 47+12, hold.Total, "today's 12 packs since 06:11 join the hold")
}

// widenAndSettle is the rest of 26 February.
func (w *walkC) widenAndSettle(p record.ID) {
	w.at("2026-02-26 11:00")
	w.step(p, &record.HoldChanged{From: local("2026-02-04 06:11"), To: local("2026-02-06 06:08"), Reason: "one more"})
	hold := w.hold(p)
	require.Equal(w.t, 39+47+12, hold.Total)
	require.False(w.t, hold.Open, "her window is her answer")
	w.step(p, &record.HoldAnswered{Reason: "looked at the loads of the days between"})
	ends := map[string]int{}
	for _, end := range []record.PackSettled{{Count: 1, Where: "cart", End: "discarded"},
		{Count: 17 + 5, Where: "store", End: "repackaged"}, {Count: 27 + 34, Where: "issued", End: "used", Reason: "IR-2231"},
		{Count: 12, Where: "cart", End: "repackaged"}} {
		w.step(p, &end)
	}
	_, err := w.try(p, &record.PackSettled{Count: 2, End: "not-found"})
	require.ErrorContains(w.t, err, "Give the reason", "not found is signed")
	w.step(p, &record.PackSettled{Count: 2, End: "not-found", Reason: "no trace in store or theatre"})
	total := 0
	for _, s := range w.problem(p).Settled {
		ends[s.End] += s.Count
		total += s.Count
		require.Equal(w.t, w.lead, s.By)
	}
	require.Equal(w.t, 61, ends["used"])
	require.Equal(w.t, w.hold(p).Total, total)
}

func TestWalkCVariantAChannelInTheMakersSealHoldsTheLotAndTheSealerStaysReady(t *testing.T) {
	w := tellWalkC(t)
	w.at("2026-02-26 07:50")
	e := w.direct()
	records, err := w.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.BadSeal(v, rules.SaidBadSeal{Entry: e, Sealer: w.s, BadSeal: record.BadSeal{Kind: record.Channel,
			MakersSeal: true, Pouch: w.paper, Lot: "L-7781", SealedAt: aWholeDay("2026-02-05")}}, now)
	})
	require.NoError(t, err)
	require.Len(t, records, 2)
	require.Equal(t, map[string]record.Seq{"L-7781": records[1].Seq}, rules.GetPouch(w, w.paper).Held)
	require.Equal(t, rules.WhatMakers, w.problem(e.ID).What)
	w.requireReady(w.s, w.paper)
	require.Empty(t, w.told, "not a matter for clinical engineering")

	_, err = w.try(e.ID, &record.Seen{})
	require.ErrorContains(t, err, "not for clinical engineering")
	w.setUp(pouchOf(w.paper), &record.LotReleased{Lot: "L-7781", Why: "maker's answer"})
	require.Empty(t, rules.GetPouch(w, w.paper).Held)
}
