package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// TestPacksOpenAProblemOnlyIfTheSealerWasNotReadyForThem tells packs at the end of
// a day with everything: 07:00 good for paper/film, 09:30 changeover, 10:14 good
// for nonwoven, 12:00 power off for five minutes, 12:30 good for nonwoven.
func TestPacksOpenAProblemOnlyIfTheSealerWasNotReadyForThem(t *testing.T) {
	paper, nonwoven := false, true
	for name, c := range map[string]struct {
		from, to string
		nonwoven bool
		unready  bool
	}{
		"after the day's check":             {"2026-01-13 07:10", "2026-01-13 09:28", paper, false},
		"with the check":                    {"2026-01-13 07:00", "2026-01-13 07:00", paper, false},
		"two minutes early by some clock":   {"2026-01-13 06:58", "2026-01-13 06:59", paper, false},
		"before the day's check":            {"2026-01-13 06:57", "2026-01-13 06:57:30", paper, true},
		"the other pouch before the change": {"2026-01-13 08:00", "2026-01-13 08:10", nonwoven, true},
		"at the changeover by some clock":   {"2026-01-13 09:00", "2026-01-13 09:32", paper, false},
		"into the changeover":               {"2026-01-13 09:00", "2026-01-13 09:33", paper, true},
		"on the cooling jaw":                {"2026-01-13 09:50", "2026-01-13 09:50", paper, true},
		"after the change":                  {"2026-01-13 10:15", "2026-01-13 11:59", nonwoven, false},
		"before the power went":             {"2026-01-13 11:30", "2026-01-13 12:00", nonwoven, false},
		"before anybody looked":             {"2026-01-13 12:10", "2026-01-13 12:20", nonwoven, true},
		"after the look":                    {"2026-01-13 12:31", "2026-01-13 12:40", nonwoven, false},
		"paper at nonwoven's setting":       {"2026-01-13 12:40", "2026-01-13 12:45", paper, true},
		"of yesterday, ready then":          {"2026-01-12 08:00", "2026-01-12 16:00", paper, false},
		"this morning before day start":     {"2026-01-13 03:00", "2026-01-13 04:59", paper, false},
		"past the day's start":              {"2026-01-13 04:00", "2026-01-13 05:00", paper, true},
		"over the whole day":                {"2026-01-13 07:10", "2026-01-13 12:40", nonwoven, true},
	} {
		for told, at := range map[string]string{"the same day": "2026-01-13 13:00", "the next morning": "2026-01-14 08:00"} {
			t.Run(name+", told "+told, func(t *testing.T) {
				h := newHouse(t)
				s := h.shared("5")
				h.tellDay(s)
				h.at(at)
				pouch := h.paper
				if c.nonwoven {
					pouch = h.nonwoven
				}
				r := h.packs(h.typed(c.from, c.to), s, pouch, 3)
				require.Equal(t, c.unready, r.Effect.Opens > 0)
				if c.unready {
					require.Equal(t, []record.ID{r.ID}, h.its(s).Problems)
					require.Equal(t, 3, h.hold(r.ID).Total)
					require.Empty(t, h.told)
				}
			})
		}
	}
}

func (h *house) tellDay(s record.ID) {
	h.at("2026-01-12 07:00")
	h.pass(s, h.paper)
	h.at("2026-01-13 07:00")
	h.pass(s, h.paper)
	h.at("2026-01-13 09:30")
	_, err := h.changeover(h.direct(), s, h.nonwoven)
	require.NoError(h.t, err)
	h.at("2026-01-13 10:14")
	h.pass(s, h.nonwoven)
	h.at("2026-01-13 12:06")
	h.disturb(h.typed("2026-01-13 12:00", "2026-01-13 12:05"), record.PowerOff, s)
	h.at("2026-01-13 12:30")
	h.pass(s, h.nonwoven)
}

func TestPacksOfANewSealerThatNobodyCheckedAreHeld(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	r := h.packs(h.direct(), s, h.paper, 1)
	require.Equal(t, rules.WhatUnready, h.problem(r.ID).What)
}

func TestPacksAfterTheShiftsCheckWasDueAreHeld(t *testing.T) {
	h := newHouse(t)
	h.plan(record.BarDial, func(p *record.Plan) { p.PerShift = []int{14 * 60} })
	s := h.bar("1")
	h.at("2026-01-13 07:00")
	h.pass(s, h.paper)
	h.at("2026-01-13 15:00")
	require.Zero(t, h.packs(h.typed("2026-01-13 13:00", "2026-01-13 14:00"), s, h.paper, 1).Effect.Opens)
	require.NotZero(t, h.packs(h.typed("2026-01-13 13:00", "2026-01-13 14:01"), s, h.paper, 1).Effect.Opens)
}

// What lies before anything that is remembered is not known here: no false alarm.
func TestPacksFromBeforeLivingMemoryOpenNothing(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	for day := range 20 {
		h.clock = local("2026-01-05 07:00").Add(minutes(day * 24 * 60))
		h.pass(s, h.paper)
	}
	require.NotEqual(t, record.None, h.its(s).Forgotten)
	r := h.packs(h.typed("2026-01-06 08:00", "2026-01-06 09:00"), s, h.paper, 1)
	require.Zero(t, r.Effect.Opens)
}

// RULES.md R9: phones that are offline go on until the tag; those packs belong to
// the stop, not to a problem of their own.
func TestPacksSealedBetweenTheStopAndTheTagAreOnTheStopsList(t *testing.T) {
	h, s, _ := checkedAt(t, "07:00")
	h.at("2026-01-13 10:00")
	p := h.tested(s, h.paper, record.Fail).ID
	h.at("2026-01-13 10:20")
	h.step(p, &record.Tagged{SwitchedOff: true})
	h.at("2026-01-13 10:40")
	require.Zero(t, h.packs(h.typed("2026-01-13 09:50", "2026-01-13 10:20"), s, h.paper, 4).Effect.Opens)
	require.Equal(t, 4, h.hold(p).Total)
	r := h.packs(h.typed("2026-01-13 10:20:01", "2026-01-13 10:25"), s, h.paper, 5)
	require.NotZero(t, r.Effect.Opens, "sealed on after the tag")
	require.Equal(t, 4, h.hold(p).Total)
	r = h.packs(h.typed("2026-01-13 10:10", "2026-01-13 10:15"), s, h.nonwoven, 6)
	require.Zero(t, r.Effect.Opens, "a fault that was seen holds every pouch")
}

// A good check that was kept while the sealer was out ends the stop's window: what
// was sealed after it needs a list of its own.
func TestPacksAfterAGoodCheckThatGaveNothingAreHeldOnTheirOwn(t *testing.T) {
	h, s, _ := checkedAt(t, "07:00")
	h.at("2026-01-13 10:00")
	p := h.tested(s, h.paper, record.Fail).ID
	h.at("2026-01-13 10:30")
	e := h.direct()
	e.Keep = true
	require.Equal(t, rules.NothingNotDue, h.sent(e, s, h.paper, record.Pass).Effect.Nothing)
	h.at("2026-01-13 11:00")
	r := h.packs(h.typed("2026-01-13 10:40", "2026-01-13 10:50"), s, h.paper, 5)
	require.NotZero(t, r.Effect.Opens)
	require.Zero(t, h.packs(h.typed("2026-01-13 10:10", "2026-01-13 10:20"), s, h.paper, 5).Effect.Opens)
	require.Equal(t, 5, h.hold(p).Total)
}

// RULES.md R8: a late pack entry inside any window opens what was settled.
func TestALatePackEntryInsideASettledWindowOpensItAgain(t *testing.T) {
	for name, c := range map[string]struct {
		from, to string
		opens    bool
	}{
		"inside":                    {"2026-01-13 08:00", "2026-01-13 09:00", true},
		"at its beginning":          {"2026-01-13 06:59", "2026-01-13 07:00", true},
		"before it":                 {"2026-01-12 23:00", "2026-01-13 04:59", false},
		"at its end":                {"2026-01-13 10:20", "2026-01-13 10:20", true},
		"after the sealer was back": {"2026-01-13 12:01", "2026-01-13 12:30", false},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.shared("5")
			h.at("2026-01-12 06:00")
			h.pass(s, h.paper)
			h.at("2026-01-13 07:00")
			h.pass(s, h.paper)
			h.at("2026-01-13 10:00")
			p := h.tested(s, h.paper, record.Fail).ID
			h.at("2026-01-13 10:20")
			h.step(p, &record.Tagged{})
			h.at("2026-01-13 12:00")
			h.handBack(p)
			h.later(minutes(1))
			h.pass(s, h.paper)
			hold := h.hold(p)
			h.step(p, &record.PacksSettled{From: hold.Counts.From, To: hold.Counts.To})
			h.step(p, &record.ProblemClosed{})
			h.at("2026-01-13 13:00")
			r := h.packs(h.typed(c.from, c.to), s, h.paper, 2)
			require.Zero(t, r.Effect.Opens)
			require.Equal(t, c.opens, r.Effect.Joins == p)
			require.Equal(t, c.opens, h.problem(p).SettledAt == 0)
			require.Equal(t, c.opens, h.problem(p).Closed == 0)
			require.Equal(t, c.opens, len(rules.GetDepartment(h, h.dept).Open) == 1)
		})
	}
}

func TestAPackEntryIsRefusedForWhatIsWrongInItself(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	for count, ok := range map[int]bool{0: false, 1: true, 10_000: true, 10_001: false} {
		_, err := rules.PacksSealed(h, rules.SaidPacks{Entry: h.direct(), Sealer: s,
			Packs: record.Packs{Pouch: h.paper, Count: count}}, h.now())
		require.Equal(t, ok, err == nil, count)
	}
	_, err := rules.PacksSealed(h, rules.SaidPacks{Entry: h.direct(), Sealer: s, Packs: record.Packs{Pouch: record.ID{9}, Count: 1}}, h.now())
	require.ErrorContains(t, err, "Say which pouch")
	_, err = rules.PacksSealed(h, rules.SaidPacks{Entry: h.direct(), Sealer: record.ID{9}}, h.now())
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
}
