package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// checkedAt is a house with a shared sealer that was good for paper/film at a
// time of 13 January, and a phone whose page was drawn before.
func checkedAt(t *testing.T, at string) (*house, record.ID, *phone) {
	h := newHouse(t)
	s := h.shared("5")
	h.at("2026-01-13 05:30")
	p := h.phone()
	h.at("2026-01-13 " + at)
	h.pass(s, h.paper)
	return h, s, p
}

// RULES.md R8, takes: a late fact takes Ready away unless the check that gave it
// began more than two minutes after.
func TestALateDisturbanceIsAnsweredByACheckThatBeganTwoMinutesAfterIt(t *testing.T) {
	for happened, ready := range map[string]bool{"06:57:59": true, "06:58:00": false, "07:00:00": false, "07:10:00": false} {
		t.Run(happened, func(t *testing.T) {
			h, s, p := checkedAt(t, "07:00")
			h.at("2026-01-13 07:14")
			r := h.disturb(p.kept("2026-01-13 "+happened), record.KnobMoved, s)
			require.True(t, r.Effect.Takes)
			if !ready {
				h.requireStands(s, record.CheckDue, record.NeedCheck, record.KnobMoved)
				return
			}
			require.Equal(t, rules.NothingAnswered, r.Effect.Nothing)
			h.requireReady(s, h.paper)
		})
	}
}

// A span disturbs from its start to its end: only a check that began after its
// end answers it (settled question).
func TestASpanIsAnsweredOnlyAfterItsEnd(t *testing.T) {
	h, s, _ := checkedAt(t, "07:00")
	h.at("2026-01-13 09:00")
	h.disturb(h.typed("2026-01-13 06:40", "2026-01-13 07:05"), record.PowerOff, s)
	h.requireStands(s, record.CheckDue, record.NeedCheck, record.PowerOff)
}

func TestADisturbanceOfADoubtfulTimeIsAnsweredByNothing(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 09:00")
	e := p.kept("2026-01-13 06:00")
	e.Happened.Said = record.Doubtful
	r := h.disturb(e, record.KnobMoved, s)
	require.True(t, r.Late)
	h.requireStands(s, record.CheckDue, record.NeedCheck, record.KnobMoved)
}

func TestALateFailStopsWhateverCheckCameAfterIt(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 07:10")
	r := h.sent(p.kept("2026-01-13 06:00"), s, h.paper, record.Fail)
	require.NotZero(t, r.Effect.Opens)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyFail)
}

// A return whose repair came after the fault answers it: the fault joins that
// problem, opens what was settled, and the sealer stays.
func TestALateFailFromBeforeARepairJoinsItsProblem(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	problem := h.found(s, record.Channel).ID
	h.at("2026-01-13 08:00")
	h.handBack(problem)
	h.pass(s, h.paper)
	h.step(problem, &record.PacksSettled{})
	for _, closed := range []bool{false, true} {
		if closed {
			h.step(problem, &record.PacksSettled{})
			h.step(problem, &record.ProblemClosed{})
			require.Empty(t, rules.GetDepartment(h, h.dept).Open)
		}
		r := h.sent(p.kept("2026-01-13 07:30"), s, h.paper, record.Fail)
		require.Equal(t, problem, r.Effect.Joins)
		require.True(t, r.Effect.Takes)
		h.requireReady(s, h.paper)
		now := h.problem(problem)
		require.Zero(t, now.SettledAt, "opened again")
		require.Zero(t, now.Closed)
		require.NotZero(t, now.Returned, "the sealer is back all the same")
		require.Equal(t, []record.ID{problem}, rules.GetDepartment(h, h.dept).Open)
	}
	require.Len(t, h.problem(problem).Anchors, 3)

	h.sent(p.kept("2026-01-13 07:58"), s, h.paper, record.Fail)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyFail) // two minutes before, or after: who knows
}

func TestALateCreaseOrNotReadyBeforeAGoodCheckChangesNothing(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.badSeal(p.kept("2026-01-13 06:10"), s, record.BadSeal{Kind: record.Crease})
	h.sent(p.kept("2026-01-13 06:20"), s, h.paper, record.NotYet)
	h.requireReady(s, h.paper)
}

// RULES.md R8 would let one later check answer it; in true order the table of R20
// wants two fresh pouches, so the safe side is to ask for them.
func TestALateNotValidIsNotAnsweredByOneCheckOfTheSameDay(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.sent(p.kept("2026-01-13 06:10"), s, h.paper, record.NotValid)
	h.requireStands(s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
}

func TestALateNotValidOfYesterdayIsAnsweredByTodaysCheck(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.sent(p.kept("2026-01-12 16:10"), s, h.paper, record.NotValid)
	h.requireReady(s, h.paper)
}

// A test seal or a row of fresh pouches proves less than the check that it rests
// on: what came in between is not answered by it.
func TestALateDisturbanceBetweenACheckAndTheTestSealThatRestsOnItTakesReadyAway(t *testing.T) {
	for name, tell := range map[string]func(h *house, s record.ID){
		"a test seal": func(h *house, s record.ID) {
			h.found(s, record.Tear)
			h.at("2026-01-13 08:10")
			h.pass(s, h.paper)
		},
		"fresh pouches": func(h *house, s record.ID) {
			h.at("2026-01-13 07:20")
			h.tested(s, h.paper, record.NotValid)
			h.at("2026-01-13 08:10")
			h.pass(s, h.paper)
			h.pass(s, h.paper)
		},
		"return checks": func(h *house, s record.ID) {
			h.plan(record.BarDisplay, func(p *record.Plan) { p.ReturnGood = 2 })
			p := h.found(s, record.Channel).ID
			h.handBack(p)
			h.at("2026-01-13 07:20")
			h.pass(s, h.paper)
			h.at("2026-01-13 08:10")
			h.pass(s, h.paper)
		},
	} {
		t.Run(name, func(t *testing.T) {
			h, s, p := checkedAt(t, "07:00")
			tell(h, s)
			h.requireReady(s, h.paper)
			h.at("2026-01-13 08:14")
			h.disturb(p.kept("2026-01-13 07:30"), record.Element, s)
			h.requireStands(s, record.CheckDue, record.NeedCheck, record.Element)
		})
	}
}

// RULES.md R8, gives: each condition alone keeps a good check from giving Ready.
func TestAGoodCheckOfAQueueGivesReadyOnlyIfNothingSpeaksAgainstIt(t *testing.T) {
	for name, c := range map[string]struct {
		before  func(h *house, s record.ID, p *phone)
		spoil   func(h *house, s record.ID, e *rules.Entry, c *record.Check)
		nothing string
	}{
		"nothing does":         {nothing: ""},
		"its time is doubtful": {spoil: func(_ *house, _ record.ID, e *rules.Entry, _ *record.Check) { e.Happened.Said = record.Doubtful }, nothing: rules.NothingDoubtful},
		"nobody confirmed it":  {spoil: func(_ *house, _ record.ID, e *rules.Entry, _ *record.Check) { e.Via = record.ViaNone }, nothing: rules.NothingUnsigned},
		"it was imported":      {spoil: func(_ *house, _ record.ID, e *rules.Entry, _ *record.Check) { e.Via = record.ViaImport }, nothing: rules.NothingImported},
		"another approval":     {spoil: func(h *house, s record.ID, _ *rules.Entry, _ *record.Check) { h.approve(s, h.paper, "182") }, nothing: rules.NothingApproval},
		"a place is missing":   {spoil: func(_ *house, _ record.ID, _ *rules.Entry, c *record.Check) { c.Places = []record.Place{record.Left} }, nothing: rules.NothingPlaces},
		"a test is missing":    {spoil: func(_ *house, _ record.ID, _ *rules.Entry, c *record.Check) { c.Tests = []record.Test{record.Look} }, nothing: rules.NothingTests},
		"the day is over":      {before: func(h *house, _ record.ID, _ *phone) { h.at("2026-01-14 05:00") }, nothing: rules.NothingOldDay},
		"a stop was on record": {before: func(h *house, s record.ID, _ *phone) { h.found(s, record.Burn) }, nothing: rules.NothingNotDue},
		"something was unseen": {before: func(h *house, s record.ID, _ *phone) {
			h.disturb(h.typed("2026-01-13 05:40", "2026-01-13 05:41"), record.Pad, s)
		}, nothing: rules.NothingUnseen},
		"taken at its minute": {before: func(h *house, s record.ID, p *phone) {
			h.disturb(h.typed("2026-01-13 06:58", "2026-01-13 06:59"), record.Pad, s)
			p.seen = h.size()
		}, nothing: rules.NothingOrder},
		"taken after it": {before: func(h *house, s record.ID, p *phone) {
			h.disturb(h.typed("2026-01-13 07:06", "2026-01-13 07:07"), record.Pad, s)
			p.seen = h.size()
		}, nothing: rules.NothingOrder},
		"taken well before it": {before: func(h *house, s record.ID, p *phone) {
			h.disturb(h.typed("2026-01-13 06:57", "2026-01-13 06:57"), record.Pad, s)
			p.seen = h.size()
		}, nothing: ""},
		"set up for nonwoven":   {before: func(h *house, s record.ID, p *phone) { h.changedAt(s, "06:00"); p.seen = h.size() }, nothing: rules.NothingOtherBag},
		"a later check is good": {before: func(h *house, s record.ID, p *phone) { h.pass(s, h.paper); p.seen = h.size() }, nothing: rules.NothingNotDue},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.shared("5")
			h.at("2026-01-13 05:30")
			p := h.phone()
			h.at("2026-01-13 07:10")
			if c.before != nil {
				c.before(h, s, p)
			}
			check := record.Check{Pouch: h.paper, Outcome: record.Pass, Approval: h.its(s).Approvals[0].Seq}
			e := p.kept("2026-01-13 07:00")
			if c.spoil != nil {
				c.spoil(h, s, &e, &check)
				e.Seen = h.size() // only the one thing
			}
			before := h.standing(s)
			r, err := h.check(e, s, check)
			require.NoError(t, err, "a fact of a queue is never refused for being stale")
			require.Equal(t, c.nothing, r.Effect.Nothing)
			if c.nothing == "" {
				h.requireReady(s, h.paper)
				return
			}
			require.Nil(t, r.Effect.Readiness)
			require.Equal(t, before, h.standing(s))
		})
	}
}

// changedAt is a changeover to nonwoven that is told now.
func (h *house) changedAt(s record.ID, at string) {
	_, err := h.changeover(h.typed("2026-01-13 "+at, "2026-01-13 "+at), s, h.nonwoven)
	require.NoError(h.t, err)
}

// What a phone made itself it has seen: its own earlier entries do not stand in
// the way of its later ones, whatever arrives between them.
func TestAPhonesOwnEarlierEntriesAreSeen(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	p.seen = h.size()
	h.at("2026-01-13 09:00")
	h.disturb(p.kept("2026-01-13 08:30"), record.KnobMoved, s)
	r := h.sent(p.kept("2026-01-13 08:31"), s, h.paper, record.Pass)
	require.Empty(t, r.Effect.Nothing, "one minute after, but surely after")
	h.requireReady(s, h.paper)

	h.disturb(p.kept("2026-01-13 08:40"), record.KnobMoved, s)
	h.disturb(h.phone().kept("2026-01-13 08:41"), record.Pad, s)
	r = h.sent(p.kept("2026-01-13 08:50"), s, h.paper, record.Pass)
	require.Equal(t, rules.NothingUnseen, r.Effect.Nothing)
}

func TestAPhonesEarlierEntryThatEndedLaterIsNoExcuse(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	p.seen = h.size()
	h.at("2026-01-13 09:00")
	e := p.kept("2026-01-13 08:50")
	e.Happened = record.Span{From: local("2026-01-13 08:00"), To: local("2026-01-13 08:45"), Said: record.Typed}
	h.disturb(e, record.Cleaned, s)
	r := h.sent(p.kept("2026-01-13 08:30"), s, h.paper, record.Pass)
	require.Equal(t, rules.NothingOrder, r.Effect.Nothing, "made while the jaw was being cleaned")
}

func TestALaterEntryOfAnotherPhoneIsNotItsOwn(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	p.seen = h.size()
	q := h.phone()
	q.dev = p.dev // the same storage, but a later entry that came first
	q.n = 5
	h.disturb(q.kept("2026-01-13 06:00"), record.KnobMoved, s)
	h.disturb(h.direct(), record.Pad, s)
	h.at("2026-01-13 08:00")
	r := h.sent(p.kept("2026-01-13 07:50"), s, h.paper, record.Pass)
	require.Equal(t, rules.NothingUnseen, r.Effect.Nothing)
}

// Only so many touches are kept: what was forgotten counts as unseen, and its end
// is remembered.
func TestWhatIsNoLongerRememberedStillStandsInTheWay(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 09:00")
	h.disturb(h.direct(), record.KnobMoved, s)
	for range 20 {
		h.pass(s, h.paper)
	}
	h.at("2026-01-13 09:10")
	h.disturb(h.direct(), record.Pad, s)
	sealer := h.its(s)
	require.Len(t, sealer.Touches, 16)
	require.Equal(t, local("2026-01-13 09:00"), sealer.TakenTo)
	require.Equal(t, sealer.Touches[0].Seq-1, sealer.Forgotten)

	h.at("2026-01-13 09:20")
	require.Equal(t, rules.NothingOrder, h.sent(p.kept("2026-01-13 09:01"), s, h.paper, record.Pass).Effect.Nothing)
	require.Equal(t, rules.NothingUnseen, h.sent(p.kept("2026-01-13 09:19"), s, h.paper, record.Pass).Effect.Nothing)
	p.seen = h.size()
	require.Empty(t, h.sent(p.kept("2026-01-13 09:19"), s, h.paper, record.Pass).Effect.Nothing)
}

// A check made while the sealer settles is not one, also when it is sent later.
func TestACheckKeptWhileTheSealerSettledGivesNothingAfterwards(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 09:30")
	_, err := h.changeover(h.direct(), s, h.nonwoven)
	require.NoError(t, err)
	p.seen = h.size()
	h.at("2026-01-13 10:14")
	require.Equal(t, rules.NothingSettling, h.sent(p.kept("2026-01-13 10:09"), s, h.nonwoven, record.Pass).Effect.Nothing)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyChangeover)
	require.Empty(t, h.sent(p.kept("2026-01-13 10:10"), s, h.nonwoven, record.Pass).Effect.Nothing)
	h.requireReady(s, h.nonwoven)
}

// RULES.md R6: what is longer ago than the department's setting, typed or
// doubtful is late; a time to come is refused or clamped.
func TestLateIsWhatIsOverFifteenMinutesOldOrTyped(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 08:00")
	require.False(t, h.sent(p.kept("2026-01-13 07:45"), s, h.paper, record.Pass).Late)
	require.True(t, h.sent(p.kept("2026-01-13 07:44:59"), s, h.paper, record.Pass).Late)
	require.True(t, h.sent(h.typed("2026-01-13 07:59", "2026-01-13 07:59"), s, h.paper, record.Pass).Late)
	require.False(t, h.pass(s, h.paper).Late)
}

func TestATimeToComeIsRefusedIfTypedAndClampedIfComputed(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.at("2026-01-13 08:00")
	_, err := h.check(h.typed("2026-01-13 08:03", "2026-01-13 08:03"), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "has not come yet")
	_, err = h.check(h.typed("2026-01-13 07:50", "2026-01-13 07:40"), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "The end is before the beginning")
	within := h.sent(h.typed("2026-01-13 08:02", "2026-01-13 08:02"), s, h.paper, record.Pass)
	require.Equal(t, local("2026-01-13 08:02"), within.Happened.To)
	r := h.sent(p.kept("2026-01-13 08:30"), s, h.paper, record.Pass)
	require.Equal(t, record.Moment(h.clock), r.Happened)
}

func TestAClockThatGoesBackDoesNotTakeTheRulesWithIt(t *testing.T) {
	h, s, _ := checkedAt(t, "07:00")
	h.later(-3 * time.Hour)
	h.requireReady(s, h.paper)
	r := h.pass(s, h.paper)
	require.Equal(t, local("2026-01-13 07:00"), r.Happened.From, "now is the last time given to a record")
	require.Equal(t, local("2026-01-13 04:00"), r.At, "the raw reading is written down")
	require.Equal(t, date("2026-01-13"), r.Day)
}

// RULES.md R9: witnessed is not late and not imported; and not from nobody.
func TestOnlyAWitnessedCheckIsTheLastGoodOne(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	first := h.its(s).Good
	h.at("2026-01-13 08:00")
	unsigned := h.direct()
	unsigned.Via = record.ViaNone
	imported := h.direct()
	imported.Via = record.ViaImport
	for name, e := range map[string]rules.Entry{"late": p.kept("2026-01-13 07:30"), "typed": h.typed("2026-01-13 07:55", "2026-01-13 07:55"),
		"unsigned": unsigned, "imported": imported, "of an earlier time": {ID: h.newID(), Happened: record.Moment(local("2026-01-13 06:59")),
			Queued: true, Dev: p.dev, DevN: 9}} {
		h.sent(e, s, h.paper, record.Pass)
		require.Equal(t, first, h.its(s).Good, name)
	}
	r := h.pass(s, h.paper)
	require.Equal(t, []rules.Good{{Pouch: h.paper, Seq: r.Seq, Began: h.clock, By: h.tech}}, h.its(s).Good)
}

// Found by the law of true order: a late disturbance from before a test that was
// not valid must not let one check do for the two that the test asks for.
func TestALateDisturbanceDoesNotForgiveTheTwoFreshPouches(t *testing.T) {
	for happened, of := range map[string]int{"07:10": 2, "07:22": 2, "07:22:01": 0} {
		t.Run(happened, func(t *testing.T) {
			h, s, p := checkedAt(t, "07:00")
			h.at("2026-01-13 07:20")
			h.tested(s, h.paper, record.NotValid)
			h.at("2026-01-13 07:24")
			h.disturb(p.kept("2026-01-13 "+happened), record.KnobMoved, s)
			h.requireStands(s, record.CheckDue, record.NeedCheck, record.KnobMoved)
			require.Equal(t, of, h.standing(s).Of)
			if of == 2 {
				_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Places: []record.Place{record.Left}})
				require.ErrorContains(t, err, "middle, right")
				h.pass(s, h.paper)
				h.requireStands(s, record.CheckDue, record.NeedCheck, record.KnobMoved)
			}
			h.pass(s, h.paper)
			h.requireReady(s, h.paper)
		})
	}
}

func TestTwoWholeChecksAreForgivenByANewDay(t *testing.T) {
	h, s, p := checkedAt(t, "07:00")
	h.tested(s, h.paper, record.NotValid)
	h.disturb(p.kept("2026-01-13 06:00"), record.KnobMoved, s)
	h.pass(s, h.paper)
	require.Equal(t, []int{1, 2}, []int{h.standing(s).Good, h.standing(s).Of})
	h.at("2026-01-14 07:00")
	require.Equal(t, []int{0, 0}, []int{h.standing(s).Good, h.standing(s).Of})
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}
