package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestACheckIsRefusedWithTheReason(t *testing.T) {
	approved := func(h *house, s record.ID) {}
	for name, c := range map[string]struct {
		before func(h *house, s record.ID)
		check  record.Check
		code   fault.Code
		says   string
	}{
		"no outcome":           {approved, record.Check{}, fault.Invalid, "Say how the check ended"},
		"not valid, no reason": {approved, record.Check{Outcome: record.NotValid}, fault.Invalid, "Say why the test is not valid"},
		"a pouch nobody approved": {approved, record.Check{Pouch: record.ID{9}, Outcome: record.Pass}, fault.Stale,
			"There is no approved setting"},
		"an approval that was replaced": {func(h *house, s record.ID) { h.approve(s, h.paper, "182") },
			record.Check{Approval: 7, Outcome: record.Pass}, fault.Stale, "was changed meanwhile"},
		"a display five and a bit off": {approved, record.Check{Outcome: record.Pass, Shown: "185.1 °C"}, fault.Invalid,
			"It shows 185.1 °C, approved is 180"},
		"a display as far off below": {approved, record.Check{Outcome: record.Pass, Shown: "174"}, fault.Invalid, "It shows 174"},
		"a display that cannot be read": {approved, record.Check{Outcome: record.Pass, Shown: "warm"}, fault.Invalid,
			"Type what the display shows"},
		"a place left out": {approved, record.Check{Outcome: record.Pass, Places: []record.Place{record.Left, record.Right}},
			fault.Invalid, "at these places, too: middle"},
		"a test left out": {approved, record.Check{Outcome: record.Pass, Tests: []record.Test{record.Look}},
			fault.Invalid, "These tests are wanted, too: dye"},
		"out of service": {func(h *house, s record.ID) { h.tested(s, h.paper, record.Fail) },
			record.Check{Outcome: record.Pass}, fault.Stale, "was taken out of service"},
		"out of service, a fail": {func(h *house, s record.ID) { h.tested(s, h.paper, record.Fail) },
			record.Check{Outcome: record.Fail}, fault.Stale, "was taken out of service"},
		"retired": {func(h *house, s record.ID) { h.setUp(sealerOf(s), &record.SealerRetired{}) },
			record.Check{Outcome: record.Pass}, fault.Gone, "is retired"},
		"still warming": {func(h *house, s record.ID) { h.disturb(h.direct(), record.PowerOff, s) },
			record.Check{Outcome: record.Fail}, fault.Busy, "Not ready yet, 15 min. A check is possible from 10:15"},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.shared("5")
			h.at("2026-01-13 10:00")
			c.before(h, s)
			if c.check.Pouch.IsZero() {
				c.check.Pouch = h.paper
			}
			written := len(h.records)
			_, err := h.check(h.direct(), s, c.check)
			require.ErrorContains(t, err, c.says)
			require.Equal(t, c.code, fault.CodeOf(err))
			require.Len(t, h.records, written)
		})
	}
}

func TestACheckOfNoSealerIsRefused(t *testing.T) {
	h := newHouse(t)
	_, err := rules.Check(h, rules.SaidCheck{Entry: h.direct(), Sealer: h.newID()}, h.now())
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
}

// Exactly five degrees off is still at the setting; in Fahrenheit nine are.
func TestADisplayMayReadFiveDegreesOff(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	for _, shown := range []string{"", "180", "175 °C", "185", "347 °F", "365 °F"} {
		_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Shown: shown})
		require.NoError(t, err, shown)
	}
	for _, shown := range []string{"346.9 °F", "365.1 °F", "174.9", "185.1"} {
		_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Shown: shown})
		require.Error(t, err, shown)
	}
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Fail, Shown: "150"})
	require.NoError(t, err, "a fail is a fail whatever was shown")
}

func TestADialIsNotComparedInDegrees(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Shown: "2"})
	require.NoError(t, err)
}

// A queued check says what was shown at the approval of its time: a new approval
// must not turn it away.
func TestAQueuedCheckIsNotComparedWithALaterApproval(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	old := h.its(s).Approvals[0].Seq
	h.approve(s, h.paper, "190")
	r, err := h.check(h.phone().keptAt(h.clock), s,
		record.Check{Pouch: h.paper, Approval: old, Outcome: record.Pass, Shown: "180"})
	require.NoError(t, err)
	require.Equal(t, rules.NothingApproval, r.Effect.Nothing)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyNew)
}

func TestAPassOnAnOldPageIsRefusedAndKeptIfItDidHappen(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.at("2026-01-13 10:00")
	page := h.direct()
	h.disturb(h.direct(), record.KnobMoved, s)
	h.later(minutes(5))
	_, err := h.check(page, s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.True(t, fault.Is(err, fault.Stale))
	page.Keep = true
	r, err := h.check(page, s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.NoError(t, err)
	require.Equal(t, rules.NothingUnseen, r.Effect.Nothing)
	h.requireStands(s, record.CheckDue, record.NeedCheck, record.KnobMoved)
}

// Two people with the same page: the second good check is one more, not a fault;
// in a row that is being counted each has to have seen the one before.
func TestTwoGoodChecksFromOnePageCountOnce(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	a, b := h.direct(), h.direct()
	h.sent(a, s, h.paper, record.Pass)
	h.sent(b, s, h.paper, record.Pass)
	h.requireReady(s, h.paper)

	h.tested(s, h.paper, record.NotValid)
	a, b = h.direct(), h.direct()
	h.sent(a, s, h.paper, record.Pass)
	_, err := h.check(b, s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.True(t, fault.Is(err, fault.Stale))
	require.Equal(t, 1, h.standing(s).Good)
}

func TestReadyIsForOnePouchAtATime(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.nonwoven, Outcome: record.Pass})
	require.ErrorContains(t, err, "Record the changeover first")
	h.at("2026-01-13 06:00")
	h.pass(s, h.nonwoven)
	h.requireReady(s, h.nonwoven)
}

// The same value for both pouches changes nothing about that (settled question).
func TestAChangeOfPouchAtTheSameSettingIsAChangeover(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.approve(s, h.nonwoven, "180")
	h.pass(s, h.paper)
	_, err := h.changeover(h.direct(), s, h.nonwoven)
	require.NoError(t, err)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyChangeover)
	h.pass(s, h.nonwoven)
	h.requireReady(s, h.nonwoven)
}

func TestReturnChecksInARowAreOfOnePouch(t *testing.T) {
	h, s, _ := startAt(t, "return checks 0 of 2")
	h.pass(s, h.nonwoven)
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "Record the changeover first")
	h.pass(s, h.nonwoven)
	h.requireReady(s, h.nonwoven)
}

func TestReturnChecksInARowAreAtOneApproval(t *testing.T) {
	h, s, _ := startAt(t, "return checks 1 of 2")
	h.approve(s, h.paper, "182")
	require.Equal(t, []int{0, 2}, []int{h.standing(s).Good, h.standing(s).Of})
	h.pass(s, h.paper)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyApproval)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}

func TestANewDayDoesNotBreakTheRowOfReturnChecks(t *testing.T) {
	h, s, p := startAt(t, "return checks 1 of 2")
	h.at("2026-01-14 09:00")
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyHandedBack)
	r := h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	require.Equal(t, r.Happened.To, h.problem(p).Returned)
	require.Equal(t, h.tech, h.problem(p).ReturnedBy)
	require.Zero(t, h.standing(s).Problem)
}

func TestANewDayEndsTheCountOfFreshPouches(t *testing.T) {
	h, s, _ := startAt(t, "two fresh wanted")
	h.pass(s, h.paper)
	h.at("2026-01-14 04:59")
	h.requireStands(s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
	h.at("2026-01-14 05:00")
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyNewDay)
	h.tested(s, h.paper, record.NotValid)
	h.requireStands(s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
}

// Two fresh pouches must both be good: a good one between does not start again.
func TestNotValidGoodNotValidCountsAsAFail(t *testing.T) {
	h, s, _ := startAt(t, "two fresh wanted")
	h.pass(s, h.paper)
	h.tested(s, h.paper, record.NotValid)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyNotValid)
}

// The count starts again at a conclusive outcome or a new day, not because the
// sealer was disturbed.
func TestADisturbanceDoesNotForgiveATestThatWasNotValid(t *testing.T) {
	h, s, _ := startAt(t, "two fresh wanted")
	h.disturb(h.direct(), record.Cleaned, s)
	h.tested(s, h.paper, record.NotValid)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyNotValid)
}

func TestAfterAConclusiveOutcomeTheCountStartsAgain(t *testing.T) {
	h, s, _ := startAt(t, "two fresh wanted")
	h.pass(s, h.paper)
	h.pass(s, h.paper)
	h.tested(s, h.paper, record.NotValid)
	h.requireStands(s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
}

func TestAReturnCheckThatWasNotValidWantsTwoFreshOnes(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1") // one good return check by default
	p := h.found(s, record.Channel).ID
	h.handBack(p)
	require.Equal(t, 1, h.standing(s).Of)
	h.tested(s, h.paper, record.NotValid)
	h.pass(s, h.paper)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyNotValid)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}

func TestNotReadyBetweenTwoGoodOnesStartsTheRowAgain(t *testing.T) {
	h, s, _ := startAt(t, "return checks 1 of 2")
	h.tested(s, h.paper, record.NotYet)
	h.pass(s, h.paper)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyNotYet)
}

// The plan's one place is not enough where a pack found elsewhere asks for all.
func TestAllPlacesAreThreeOrTheWholeWidth(t *testing.T) {
	h, s, p := startAt(t, "all places wanted")
	for _, places := range [][]record.Place{{record.Middle}, {record.Left, record.Right}} {
		_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Places: places})
		require.ErrorContains(t, err, "at these places, too")
	}
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Places: []record.Place{record.Whole}})
	require.NoError(t, err)
	h.requireReady(s, h.paper)
	require.NotZero(t, h.problem(p).Returned)
}

func TestOneTestSealNeedsNoPlaceAndNoDye(t *testing.T) {
	h, s, _ := startAt(t, "test seal wanted")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass,
		Places: []record.Place{record.NoPlace}, Tests: []record.Test{record.Look}})
	require.NoError(t, err)
	h.requireReady(s, h.paper)
}

func TestAFailOpensAProblemAndTellsEngineering(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	r, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Fail, Kind: record.Weak,
		Place: record.Right, AtCM: "40 cm"})
	require.NoError(t, err)
	p := h.problem(r.ID)
	require.Equal(t, []any{1, rules.WhatFailedCheck, record.Weak, record.Right, "40 cm", h.paper, s, h.tech},
		[]any{p.Number, p.What, p.Kind, p.Place, p.AtCM, p.Pouch, p.Sealer, p.OpenedBy})
	require.Equal(t, []rules.Tell{{Route: rules.ToEngineering, To: p.ID}}, h.told)
	require.Equal(t, p.ID, h.standing(s).Problem)
	require.Equal(t, []record.ID{p.ID}, h.its(s).Problems)
	require.Equal(t, 1, rules.GetSite(h).Problems)
}

func TestAFailedReturnCheckTellsEngineeringAgain(t *testing.T) {
	h, s, p := startAt(t, "return checks 1 of 2")
	h.told = nil
	h.tested(s, h.paper, record.Fail)
	require.Equal(t, []rules.Tell{{Route: rules.ToEngineering, To: p}}, h.told)
	require.True(t, h.problem(p).OnlyCE)
	require.Equal(t, 1, rules.GetSite(h).Problems, "one problem")
}

func TestWhatIsToldOfARetiredSealerLeavesItRetired(t *testing.T) {
	h, s, _ := startAt(t, "retired")
	for _, outcome := range []record.Outcome{record.Pass, record.NotValid, record.NotYet} {
		e := h.direct()
		e.Keep = true
		h.sent(e, s, h.paper, outcome)
		h.requireStands(s, record.Retired, record.NeedNothing, rules.WhyRetired)
	}
}

// Found by the law of true order: a test seal is of the pouch that creased; for
// another one the sealer has to be changed over and checked.
func TestATestSealOfAnotherPouchMakesNothingReady(t *testing.T) {
	h, s, _ := startAt(t, "test seal wanted")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.nonwoven, Outcome: record.Pass})
	require.ErrorContains(t, err, "Record the changeover first")
	p := h.phone()
	h.later(minutes(5))
	r := h.sent(p.keptAt(h.clock), s, h.nonwoven, record.Pass)
	require.Equal(t, rules.NothingOtherBag, r.Effect.Nothing)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}
