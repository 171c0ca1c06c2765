package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestAStepIsRefusedWhereItMakesNoSense(t *testing.T) {
	fix := &record.FirstLineFix{Did: []string{"set"}, Cause: "setting"}
	for name, c := range map[string]struct {
		from string
		step record.Body
		code fault.Code
		says string
	}{
		"tag after the return began":      {"return checks 0 of 2", &record.Tagged{}, fault.Stale, "not out of service any more"},
		"at work after the return began":  {"return checks 0 of 2", &record.Work{Stage: record.AtWork}, fault.Stale, "not out of service any more"},
		"handed back twice":               {"return checks 0 of 2", &record.HandedBack{Finding: "pad"}, fault.Stale, "not out of service any more"},
		"fixed after the return began":    {"return checks 0 of 2", fix, fault.Stale, "not out of service any more"},
		"tag of a sealer that seals":      {"all places wanted", &record.Tagged{}, fault.Stale, "not out of service any more"},
		"work of no known stage":          {"out of service", &record.Work{Stage: "thinking"}, fault.Invalid, "Say whether you are at work"},
		"a finding nobody knows":          {"out of service", &record.HandedBack{Finding: "gremlin"}, fault.Invalid, "Say what was found"},
		"a fix of nothing":                {"out of service", &record.FirstLineFix{Cause: "dirt"}, fault.Invalid, "Say what was done"},
		"a fix without a cause":           {"out of service", &record.FirstLineFix{Did: []string{"set"}}, fault.Invalid, "Say what it was"},
		"blame on nobody":                 {"out of service", &record.Judged{Blame: "night shift"}, fault.Invalid, "Say place, heat or unknown"},
		"a window that ends before it":    {"out of service", &record.HoldChanged{From: 2, To: 1, Reason: "r"}, fault.Invalid, "The end is before the beginning"},
		"a window without a reason":       {"out of service", &record.HoldChanged{From: 1, To: 2}, fault.Invalid, "Give the reason"},
		"an answer without a reason":      {"out of service", &record.HoldAnswered{Accept: true}, fault.Invalid, "Give the reason"},
		"packs without an end":            {"out of service", &record.PackSettled{Count: 1, End: "eaten"}, fault.Invalid, "Say what became of the packs"},
		"no packs":                        {"out of service", &record.PackSettled{Count: 0, End: "used"}, fault.Invalid, "Give the number of packs"},
		"released without a reason":       {"out of service", &record.PackSettled{Count: 1, End: "released"}, fault.Invalid, "Give the reason"},
		"closed while the sealer is out":  {"out of service", &record.ProblemClosed{}, fault.Stale, "The sealer is not back yet"},
		"closed while checks are wanted":  {"all places wanted", &record.ProblemClosed{}, fault.Stale, "The sealer is not back yet"},
		"a check is no step of a problem": {"out of service", &record.Check{}, fault.Invalid, "no step of a problem"},
	} {
		t.Run(name, func(t *testing.T) {
			h, _, p := startAt(t, c.from)
			_, err := h.try(p, c.step)
			require.ErrorContains(t, err, c.says)
			require.Equal(t, c.code, fault.CodeOf(err))
		})
	}
}

func TestStepsOfAnotherOrAClosedProblemAreRefused(t *testing.T) {
	h, s, p := startAt(t, "return checks 0 of 2")
	_, err := h.try(h.newID(), &record.Seen{})
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
	h.pass(s, h.paper)
	h.pass(s, h.paper)
	h.step(p, &record.PacksSettled{})
	_, err = h.try(p, &record.PacksSettled{})
	require.ErrorContains(t, err, "settled already")
	h.step(p, &record.ProblemClosed{})
	_, err = h.try(p, &record.Judged{Blame: record.BlameHeat})
	require.ErrorContains(t, err, "Problem 1 is closed")
	h.step(p, &record.Photograph{Of: p, SHA256: "00"})
	require.Len(t, h.problem(p).Photos, 1, "a photograph still finds its way")
}

func TestAFirstLineFixIsForTheLeadOrSomebodyTrained(t *testing.T) {
	fix := &record.FirstLineFix{Did: []string{"warmed-up"}, Cause: "warm-up"}
	h, _, p := startAt(t, "out of service")
	_, err := h.stepBy(h.direct(), p, fix)
	require.Equal(t, fault.Forbidden, fault.CodeOf(err), "a technician who is not trained")
	e := h.direct()
	e.By = record.ID{9}
	_, err = h.stepBy(e, p, fix)
	require.Equal(t, fault.Forbidden, fault.CodeOf(err), "nobody")
	h.setUp(personOf(h.tech), &record.PersonChanged{Roles: []record.Role{record.Technician}, FirstLine: true})
	_, err = h.stepBy(h.direct(), p, fix)
	require.NoError(t, err)
}

// DESIGN.md section 5: a second fix for the same cause within 30 days, and any fault
// in that time while the first fix is the last repair, is for clinical engineering.
func TestAFaultWithinThirtyDaysOfAFixIsForEngineering(t *testing.T) {
	for name, c := range map[string]struct {
		after time.Duration
		cause string
		ok    bool
	}{
		"the same, on the 30th day": {30 * 24 * time.Hour, "dirt", false},
		"the same, a moment later":  {30*24*time.Hour + time.Millisecond, "dirt", true},
		"another, on the 30th day":  {30 * 24 * time.Hour, "kit", false},
		"another, a moment later":   {30*24*time.Hour + time.Millisecond, "kit", true},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.bar("1")
			h.at("2026-01-13 10:00")
			p := h.found(s, record.Channel).ID
			h.step(p, &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"})
			h.pass(s, h.paper)
			h.requireReady(s, h.paper)
			h.clock = local("2026-01-13 10:00").Add(c.after)
			p = h.found(s, record.Channel).ID
			_, err := h.try(p, &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: c.cause})
			require.Equal(t, c.ok, err == nil, "%v", err)
		})
	}
}

// Once engineering has repaired the sealer, only the same cause is refused.
func TestARepairByEngineeringOpensTheFirstLineAgainForAnotherCause(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 10:00")
	fail := func() record.ID { h.later(time.Hour); return h.found(s, record.Channel).ID }
	h.step(fail(), &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"})
	h.later(time.Minute)
	h.pass(s, h.paper)
	p := fail()
	require.True(t, rules.OnlyEngineering(h, h.problem(p)))
	h.handBack(p)
	h.later(time.Minute)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)

	p = fail()
	require.False(t, rules.OnlyEngineering(h, h.problem(p)))
	_, err := h.try(p, &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"})
	require.ErrorContains(t, err, "The same cause was fixed here within 30 days")
	h.step(p, &record.FirstLineFix{Did: []string{"new-kit"}, Cause: "kit"})
}

// What was sealed before the fix says nothing of it.
func TestAPackSealedBeforeAFixLeavesTheFirstLineOpen(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 10:00")
	first := h.found(s, record.Channel).ID
	h.step(first, &record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"})
	fixed := h.problem(first).Fixed
	p := *h.problem(first)
	p.ID, p.OpenedAt = record.ID{9}, fixed.Add(2*time.Hour)
	require.NotNil(t, rules.LastFix(h, &p))
	p.Sealed = &record.Span{From: fixed.Add(-2 * time.Hour), To: fixed.Add(-time.Hour)}
	require.Nil(t, rules.LastFix(h, &p))
}

func TestAfterAFailedReturnCheckOnlyEngineeringHandsBack(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	h.step(p, &record.Tagged{SwitchedOff: true})
	h.step(p, &record.FirstLineFix{Did: []string{"set"}, Cause: "setting"})
	h.tested(s, h.paper, record.Fail)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyFail)
	require.Zero(t, h.problem(p).Tagged, "it is asked for the tag again")
	_, err := h.try(p, &record.FirstLineFix{Did: []string{"new-kit"}, Cause: "kit"})
	require.ErrorContains(t, err, "only clinical engineering can hand the sealer back")
	h.handBack(p)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyHandedBack)
}

func TestASecondFaultBeforeAnyFixLeavesTheFirstLineOpen(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	e := h.direct()
	e.Keep = true
	h.sent(e, s, h.paper, record.Fail)
	require.False(t, h.problem(p).OnlyCE)
	h.step(p, &record.FirstLineFix{Did: []string{"set"}, Cause: "setting"})
}

func TestAFaultWhileEngineeringIsAtWorkLeavesItsStage(t *testing.T) {
	h, s, p := startAt(t, "with engineering")
	h.found(s, record.Weak)
	require.Equal(t, record.AtWork, h.problem(p).Stage)
	require.False(t, h.problem(p).OnlyCE)
}

func TestWhatEngineeringSaysIsRemembered(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	h.step(p, &record.Work{Stage: record.Vendor, Order: "47960", Vendor: "Vendor", Expected: date("2026-01-20"), Loaner: "L1"})
	h.step(p, &record.Work{Stage: record.AtWork})
	h.step(p, &record.Seen{})
	got := h.problem(p)
	require.Equal(t, []any{record.AtWork, "47960", "Vendor", record.Date(0), "L1"},
		[]any{got.Stage, got.Order, got.Vendor, got.Expected, got.Loaner})
	require.Equal(t, []rules.SeenBy{{By: h.lead, Via: record.ViaPIN, At: h.clock}}, got.Seen)
	h.step(p, &record.HandedBack{Finding: "controller", Action: "replaced", Order: "47961"})
	got = h.problem(p)
	require.Equal(t, []any{rules.StageHandedBack, "controller", "replaced", "47961", h.clock},
		[]any{got.Stage, got.Finding, got.Action, got.Order, got.HandedBack})
}

func TestAStepOfAProblemThatIsNotTheSealersPresentOneMovesNothing(t *testing.T) {
	h, s, p := startAt(t, "return checks 0 of 2")
	h.pass(s, h.paper)
	h.pass(s, h.paper)
	q := h.found(s, record.Weak).ID
	_, err := h.try(p, &record.Work{Stage: record.AtWork})
	require.True(t, fault.Is(err, fault.Stale))
	h.step(p, &record.Judged{Blame: record.BlameHeat})
	require.Equal(t, q, h.standing(s).Problem)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyBadSeal)
}

func TestANoteAndAPhotographBelongToWhatTheyName(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	of := h.standing(s)
	e := h.direct()
	records, err := h.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Attach(v, e, sealerOf(s), h.dept, &record.Photograph{Of: p, SHA256: "00"}, now)
	})
	require.NoError(t, err)
	require.Equal(t, sealerOf(s), records[0].Subject)
	require.Equal(t, of, h.standing(s), "a photograph changes nothing")
	e = h.direct()
	records, err = h.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Attach(v, e, problemOf(p), h.dept, &record.Note{}, now)
	})
	require.NoError(t, err)
	require.Equal(t, problemOf(p), records[0].Subject)
}

// DESIGN.md section 5, same place again: within 3 cm, or the same third, in 30
// days; never from a distance that nobody stated.
func TestTheSamePlaceAgain(t *testing.T) {
	day := record.Time(24 * 3600 * 1000)
	at := func(id byte, opened record.Time, place record.Place, cm string) *rules.Problem {
		return &rules.Problem{ID: record.ID{id}, OpenedAt: opened, Place: place, AtCM: cm}
	}
	now := at(1, 100*day, record.Left, "10 cm")
	for name, c := range map[string]struct {
		earlier *rules.Problem
		again   bool
	}{
		"3 cm to the right":         {at(2, 90*day, record.Middle, "13 cm"), true},
		"3 cm to the left":          {at(2, 90*day, record.Middle, "7 cm"), true},
		"a little more":             {at(2, 90*day, record.Left, "13.1 cm"), false},
		"a little more to the left": {at(2, 90*day, record.Left, "6.9 cm"), false},
		"the same third":            {at(2, 90*day, record.Left, ""), true},
		"another third":             {at(2, 90*day, record.Right, ""), false},
		"30 days ago":               {at(2, 70*day, record.Left, "10 cm"), true},
		"longer ago":                {at(2, 70*day-1, record.Left, "10 cm"), false},
		"later":                     {at(2, 100*day+1, record.Left, "10 cm"), false},
		"at the same moment":        {at(2, 100*day, record.Left, "10 cm"), true},
		"itself":                    {now, false},
	} {
		require.Equal(t, c.again, rules.SamePlaceAgain(now, c.earlier), name)
	}
	whole := at(3, 100*day, record.Whole, "")
	require.False(t, rules.SamePlaceAgain(whole, at(2, 90*day, record.Whole, "")), "all along is no place")
	require.False(t, rules.SamePlaceAgain(at(3, 100*day, "", ""), at(2, 90*day, "", "")), "unknown twice is not the same")
}
