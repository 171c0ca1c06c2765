package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// walkA tells the walk's Tuesday, 13 January, up to the second look at the
// unclear dye at 12:17; both branches go on from there.
type walkA struct {
	*house
	s            record.ID
	two          record.Record // the packs that Ruiz sealed during the changeover
	logged       []record.ID   // the 22 and the 6
	changed      record.Record // 09:30
	notValid     record.Record // 12:17
	firstOf      record.Record // 07:05
	staleTablet  int64         // what the tablet's page of 09:05 had seen
	checksBefore int
}

func tellWalkA(t *testing.T) *walkA {
	w := &walkA{house: newHouse(t)}
	w.s = w.shared("5")
	w.plan(record.BarDisplay, func(p *record.Plan) {
		p.Tests = []record.Test{record.Look, record.Dye, record.Peel}
		p.WarmMinutes = 25
	})
	w.at("2026-01-13 07:05")
	w.firstOf = w.pass(w.s, w.paper)
	w.requireReady(w.s, w.paper)
	w.at("2026-01-13 08:20")
	w.logged = append(w.logged, w.packs(w.typed("2026-01-13 07:10", "2026-01-13 08:19"), w.s, w.paper, 12).ID)
	w.at("2026-01-13 09:05")
	w.staleTablet = w.size()
	w.at("2026-01-13 09:29")
	w.logged = append(w.logged, w.packs(w.typed("2026-01-13 08:20", "2026-01-13 09:28"), w.s, w.paper, 10).ID)
	w.morning()
	w.at("2026-01-13 11:41")
	w.logged = append(w.logged, w.packs(w.typed("2026-01-13 10:16", "2026-01-13 11:40"), w.s, w.nonwoven, 6).ID)
	w.noon()
	return w
}

// morning is the changeover to nonwoven and what happens in the meantime.
func (w *walkA) morning() {
	t := w.t
	w.at("2026-01-13 09:30")
	changed, err := w.changeover(w.direct(), w.s, w.nonwoven)
	require.NoError(t, err)
	w.changed = changed
	w.requireStands(w.s, record.NotReady, record.NeedCheck, rules.WhyChangeover)
	require.Equal(t, local("2026-01-13 10:10"), w.standing(w.s).Until)

	w.at("2026-01-13 09:50")
	require.False(t, rules.MaySeal(w, w.its(w.s), w.paper, w.now()), "the tablet learns it on wake")
	w.at("2026-01-13 09:58")
	w.two = w.packs(w.typed("2026-01-13 09:50", "2026-01-13 09:50"), w.s, w.paper, 2)
	p := w.problem(w.two.ID)
	require.Equal(t, rules.WhatUnready, p.What)
	require.Equal(t, 2, w.hold(p.ID).Total)
	w.step(p.ID, &record.PackSettled{Packs: w.two.ID, Count: 2, Where: "cart", End: "repackaged"})

	w.at("2026-01-13 10:08")
	w.checksBefore = len(w.records)
	_, err = w.check(w.direct(), w.s, record.Check{Pouch: w.nonwoven, Outcome: record.Pass})
	require.True(t, fault.Is(err, fault.Busy))
	require.ErrorContains(t, err, "Not ready yet, 2 min. A check is possible from 10:10; nothing was recorded.")
	require.Len(t, w.records, w.checksBefore, "no fail recorded")
	w.at("2026-01-13 10:14")
	w.pass(w.s, w.nonwoven)
	w.requireReady(w.s, w.nonwoven)
}

// noon is the way back to paper/film and the unclear dye.
func (w *walkA) noon() {
	w.at("2026-01-13 11:50")
	_, err := w.changeover(w.direct(), w.s, w.paper)
	require.NoError(w.t, err)
	require.Equal(w.t, local("2026-01-13 12:15"), w.standing(w.s).Until)
	w.at("2026-01-13 12:17")
	w.notValid = w.tested(w.s, w.paper, record.NotValid)
	w.requireStands(w.s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
	require.Equal(w.t, 2, w.standing(w.s).Of)
}

// holdsAnyOf counts packs of the log that a problem holds.
func (w *walkA) holds(problem record.ID) (total int) {
	for _, p := range w.hold(problem).Packs {
		require.Contains(w.t, w.logged, p.ID)
		total += p.Count
	}
	return total
}

func TestWalkATwoFreshPouchesMakeItReadyAndNobodyIsMailed(t *testing.T) {
	w := tellWalkA(t)
	w.at("2026-01-13 12:22")
	w.pass(w.s, w.paper)
	w.requireStands(w.s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
	w.at("2026-01-13 12:28")
	w.pass(w.s, w.paper)
	w.requireReady(w.s, w.paper)

	var outcomes []record.Outcome
	for _, r := range w.records {
		body, err := r.Content()
		require.NoError(t, err)
		if c, ok := body.(*record.Check); ok && r.Happened.From >= local("2026-01-13 12:00") {
			outcomes = append(outcomes, c.Outcome)
		}
	}
	require.Equal(t, []record.Outcome{record.NotValid, record.Pass, record.Pass}, outcomes,
		"three tests on record, none replaced")
	require.Empty(t, w.told, "nobody was mailed")
	require.Equal(t, []record.ID{w.two.ID}, w.its(w.s).Problems, "the 22 and the 6 on no list")
	require.Equal(t, []record.ID{w.two.ID}, rules.GetDepartment(w, w.dept).Open)
}

func TestWalkAUglyASecondUnclearTestTakesItOutOfServiceAndHoldsThe22(t *testing.T) {
	w := tellWalkA(t)
	w.at("2026-01-13 12:22")
	second := w.tested(w.s, w.paper, record.NotValid)
	w.requireStands(w.s, record.OutOfService, record.NeedNothing, rules.WhyNotValid)
	p := w.problem(second.ID)
	require.Equal(t, rules.WhatNotValid, p.What)
	require.Equal(t, 22, w.holds(p.ID))
	require.Equal(t, []rules.Tell{{Route: rules.ToEngineering, To: p.ID}}, w.told)

	// New dye box, a sharp line right across at 31 cm: a fail, kept on record
	// though the sealer is out of service.
	w.at("2026-01-13 12:45")
	e := w.direct()
	e.Keep = true
	r, err := w.check(e, w.s, record.Check{Pouch: w.paper, Outcome: record.Fail, Kind: record.Channel,
		Place: record.Middle, AtCM: "31 cm"})
	require.NoError(t, err)
	require.Equal(t, p.ID, r.Effect.Joins)
	w.requireStands(w.s, record.OutOfService, record.NeedNothing, rules.WhyFail)

	for blame, want := range map[record.Blame]int{record.BlamePlace: 28, record.BlameHeat: 22, record.BlameBoth: 28} {
		w.step(p.ID, &record.Judged{Blame: blame})
		require.Equal(t, want, w.holds(p.ID), "blame %s", blame)
	}
	w.step(p.ID, &record.Judged{Blame: record.BlamePlace})
	require.Equal(t, 28, w.holds(p.ID))
	require.Equal(t, record.Place("middle"), w.problem(p.ID).Place)
}
