package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// DESIGN.md section 5, a bad seal: what follows depends on the kind; what it does
// not name stops.
func TestWhatFollowsFromEachKindOfFault(t *testing.T) {
	want := map[record.Fault]rules.Consequence{
		record.Channel: rules.Stops, record.Unsealed: rules.Stops, record.Weak: rules.Stops, record.Burn: rules.Stops,
		record.Bubble: rules.Stops, record.DontKnow: rules.Stops, record.Narrow: rules.Stops, record.Delamination: rules.Stops,
		record.Crease: rules.Repackage, record.TooClose: rules.Repackage, record.Overfilled: rules.Repackage,
		record.Tear: rules.Repackage, record.Hole: rules.Repackage, record.Dirt: rules.Repackage,
		record.SecondSeal: rules.Symptom,
	}
	for _, kind := range record.Faults() {
		require.Equal(t, want[kind], rules.ConsequenceOf(record.BadSeal{Kind: kind}), kind)
		require.Equal(t, rules.HoldsLot, rules.ConsequenceOf(record.BadSeal{Kind: kind, MakersSeal: true}), kind)
	}
	require.Len(t, want, len(record.Faults()))
}

func TestAReportIsRefusedOnlyForWhatIsWrongInItself(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.at("2026-01-13 10:00")
	for says, b := range map[string]record.BadSeal{
		"Say what you see":             {Kind: "bent"},
		"in the past":                  {Kind: record.Weak, SealedAt: &record.Span{From: local("2026-01-13 10:03"), To: local("2026-01-13 10:03")}},
		"Give the time the pack":       {Kind: record.Weak, SealedAt: &record.Span{From: local("2026-01-13 09:03"), To: local("2026-01-13 09:02")}},
		"Say which pouch it is":        {Kind: record.Channel, MakersSeal: true, Lot: "7"},
		"Type the lot that is printed": {Kind: record.Channel, MakersSeal: true, Pouch: h.paper},
	} {
		_, err := rules.BadSeal(h, rules.SaidBadSeal{Entry: h.direct(), Sealer: s, BadSeal: b}, h.now())
		require.ErrorContains(t, err, says)
		require.Equal(t, fault.Invalid, fault.CodeOf(err))
	}
	_, err := rules.BadSeal(h, rules.SaidBadSeal{Entry: h.direct(), Sealer: h.newID(), BadSeal: record.BadSeal{Kind: record.Weak}}, h.now())
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
}

// Two minutes are the skew of honest clocks.
func TestAPackMayHaveBeenSealedJustNow(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	span := record.Span{From: h.clock.Add(minutes(2)), To: h.clock.Add(minutes(2)), Said: record.Typed}
	h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, SealedAt: &span})
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyBadSeal)
}

func TestAPackSealedBeforeTheLastGoodCheckAsksForAllPlaces(t *testing.T) {
	for sealed, want := range map[string]record.State{
		"2026-01-13 06:57:59": record.CheckDue, "2026-01-13 06:58": record.OutOfService, "2026-01-13 09:00": record.OutOfService,
	} {
		t.Run(sealed, func(t *testing.T) {
			h, s, _ := checkedAt(t, "07:00")
			h.at("2026-01-13 10:00")
			r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Found: record.AtStore,
				SealedAt: &record.Span{From: local(sealed), To: local(sealed), Said: record.Typed}})
			require.Equal(t, want, h.standing(s).State)
			require.Equal(t, r.ID, h.standing(s).Problem)
			require.Equal(t, []rules.Tell{{Route: rules.ToEngineering, To: r.ID}}, h.told)
			require.Equal(t, h.paper, h.problem(r.ID).Pouch, "the pouch it is ready for, if none is said")
		})
	}
}

// The last good check of another pouch says nothing about this one.
func TestAGoodCheckOfAnotherPouchDoesNotSpareTheSealer(t *testing.T) {
	h, s, _ := checkedAt(t, "07:00")
	h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Pouch: h.nonwoven, SealedAt: aWholeDay("2026-01-05")})
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyBadSeal)
}

func TestAnOldPackWhileTheSealerIsChangingOverDoesNotCutTheWaitShort(t *testing.T) {
	h, s, _ := startAt(t, "changing over")
	until := h.standing(s).Until
	h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Pouch: h.paper, SealedAt: aWholeDay("2026-01-05")})
	h.requireStands(s, record.NotReady, record.NeedPlaces, rules.WhyElsewhere)
	require.Equal(t, until, h.standing(s).Until)
}

func TestAnotherOldPackJoinsTheProblem(t *testing.T) {
	h, s, p := startAt(t, "all places wanted")
	r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Pouch: h.paper, SealedAt: aWholeDay("2026-01-04")})
	require.Equal(t, p, r.Effect.Joins)
	require.Zero(t, r.Effect.Opens)
	h.requireStands(s, record.CheckDue, record.NeedPlaces, rules.WhyElsewhere)
	require.Len(t, h.problem(p).Anchors, 2)
}

func TestAnOldPackDuringReturnChecksJoinsAndTheRowGoesOn(t *testing.T) {
	h := newHouse(t)
	h.plan(record.BarDisplay, func(p *record.Plan) { p.ReturnGood = 2 })
	s := h.shared("5")
	h.pass(s, h.paper)
	p := h.found(s, record.Channel).ID
	h.handBack(p)
	h.pass(s, h.paper)
	r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Pouch: h.paper, SealedAt: aWholeDay("2025-12-30")})
	require.Equal(t, p, r.Effect.Joins)
	st := h.standing(s)
	require.Equal(t, []any{record.NeedReturn, 1, 2}, []any{st.Need, st.Good, st.Of})
	require.Equal(t, []any{rules.StageHandedBack, false}, []any{h.problem(p).Stage, h.problem(p).OnlyCE})
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}

func TestABadPackOfARetiredSealerOpensAProblemForItsPacks(t *testing.T) {
	for name, sealed := range map[string]*record.Span{"of an old day": aWholeDay("2026-01-05"), "of no known day": nil} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.shared("5")
			h.at("2026-01-06 06:00")
			h.pass(s, h.paper)
			h.packs(h.direct(), s, h.paper, 9)
			h.setUp(sealerOf(s), &record.SealerRetired{})
			h.at("2026-01-20 10:00")
			r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Channel, Pouch: h.paper, Found: record.AtStore, SealedAt: sealed})
			require.NotZero(t, r.Effect.Opens)
			h.requireStands(s, record.Retired, record.NeedNothing, rules.WhyRetired)
			if sealed == nil {
				require.Equal(t, 9, h.hold(r.ID).Total, "it could be any of them")
			}
			h.step(r.ID, &record.PacksSettled{})
			h.step(r.ID, &record.ProblemClosed{})
			require.NotZero(t, h.problem(r.ID).Closed)
		})
	}
}

func TestAProblemOutlivesTheRetiredSealerUntilItsPacksAreSettled(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	h.setUp(sealerOf(s), &record.SealerRetired{})
	r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Channel, Pouch: h.paper})
	require.Equal(t, p, r.Effect.Joins, "the open problem stays")
	_, err := h.try(p, &record.ProblemClosed{})
	require.ErrorContains(t, err, "not settled yet")
	h.step(p, &record.PacksSettled{})
	h.step(p, &record.ProblemClosed{})
	r = h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Channel, Pouch: h.paper})
	require.Equal(t, 2, r.Effect.Opens, "a closed problem takes nothing more")
}

func TestTheMakersSealIsReportedWithoutASealerToo(t *testing.T) {
	h := newHouse(t)
	e := h.direct()
	records, err := h.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.BadSeal(v, rules.SaidBadSeal{Entry: e, BadSeal: record.BadSeal{Kind: record.Unsealed, MakersSeal: true,
			Pouch: h.nonwoven, Lot: "N-1"}}, now)
	})
	require.NoError(t, err)
	require.Equal(t, []record.Subject{pouchOf(h.nonwoven), pouchOf(h.nonwoven)}, []record.Subject{records[0].Subject, records[1].Subject})
	require.Equal(t, e.ID, records[1].Of)
	require.Contains(t, rules.GetPouch(h, h.nonwoven).Held, "N-1")
	require.Equal(t, "N-1", h.problem(e.ID).Lot)
	require.True(t, h.problem(e.ID).Sealer.IsZero())
}

func TestASecondSealIsOnRecordAndNobodyIsBlamed(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	before := *h.its(s)
	h.found(s, record.SecondSeal)
	after := *h.its(s)
	require.Equal(t, 1, after.Tally.Faults[record.SecondSeal])
	before.Tally = after.Tally
	require.Equal(t, before, after, "a symptom that is counted, and nothing more")
	require.Empty(t, h.told)
}

func TestAnUnsignedReportByAPersonStopsAllTheSame(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	e := h.direct()
	e.Via = record.ViaNone
	h.sent(e, s, h.paper, record.Fail)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyFail)
}
