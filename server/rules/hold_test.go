package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

var (
	paperID, nonwovenID = record.ID{1}, record.ID{2}
	threePlaces         = []record.Place{record.Left, record.Middle, record.Right}
)

// good is a witnessed good check of paper/film at all places, looked at and dyed.
func good(seq record.Seq, began record.Time) rules.CheckFact {
	return rules.CheckFact{Seq: seq, Pouch: paperID, Good: true, Began: began, Places: threePlaces,
		Tests: []record.Test{record.Look, record.Dye}, Witnessed: true}
}

// bench is a problem of a bad pack found at the bench at time 1000.
func bench(kind record.Fault, place record.Place) *rules.Problem {
	return &rules.Problem{ID: record.ID{7}, What: rules.WhatBadSeal, Pouch: paperID, Kind: kind, Place: place, OpenedAt: 1000,
		Anchors: []rules.Anchor{{From: 1000, To: 1000, Pouch: paperID, Kind: kind, Place: place}}}
}

func packs(n byte, pouch record.ID, from, to record.Time) rules.PackFact {
	return rules.PackFact{ID: record.ID{n}, Pouch: pouch, Count: int(n), At: record.Span{From: from, To: to}}
}

// RULES.md R9: witnessed is not late, not imported; not good is not good; another
// pouch says nothing. Whatever is left out leaves the window wider.
func TestOnlyAWitnessedGoodCheckOfThePouchBoundsAWindow(t *testing.T) {
	for name, spoil := range map[string]func(c *rules.CheckFact){
		"not witnessed": func(c *rules.CheckFact) { c.Witnessed = false },
		"not good":      func(c *rules.CheckFact) { c.Good = false },
		"another pouch": func(c *rules.CheckFact) { c.Pouch = nonwovenID },
	} {
		t.Run(name, func(t *testing.T) {
			before, after := good(1, 800), good(2, 1200)
			spoil(&before)
			spoil(&after)
			h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(0, 500), before, after, good(3, 1500)}}
			hold := rules.HoldOf(bench(record.Channel, record.Left), h)
			require.Equal(t, rules.Bounds{From: 500, To: 1500, FromCheck: 0, ToCheck: 3}, hold.Proposed)
			require.Equal(t, hold.Proposed, hold.Possible)
			require.False(t, hold.Open)
		})
	}
}

func TestAWindowWithoutChecksIsOpenAtThatEnd(t *testing.T) {
	hold := rules.HoldOf(bench(record.Channel, record.Left), rules.History{Begins: 100, Now: 2000})
	require.Equal(t, rules.Bounds{From: 100, To: 2000, FromCheck: record.None, ToCheck: record.None}, hold.Proposed)
	require.True(t, hold.NoCheck, "our records begin on ...: look before that")
	old := bench(record.Channel, record.Left)
	old.Anchors[0].From, old.Anchors[0].To = 50, 60
	require.Equal(t, record.Time(50), rules.HoldOf(old, rules.History{Begins: 100, Now: 2000}).Proposed.From)
}

// A check that began as the pack was sealed came before it; one that began a
// moment later after it. The window ends with the tag.
func TestTheEdgesOfAWindow(t *testing.T) {
	p := bench(record.Channel, record.Left)
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(1, 999), good(2, 1000), good(3, 1001), good(4, 1002)}}
	require.Equal(t, rules.Bounds{From: 1000, To: 1001, FromCheck: 2, ToCheck: 3}, rules.HoldOf(p, h).Proposed)
	p.Ends = 1001
	require.Equal(t, record.Seq(3), rules.HoldOf(p, h).Proposed.ToCheck)
	p.Ends = 1000
	require.Equal(t, rules.Bounds{From: 1000, To: 1000, FromCheck: 2, ToCheck: record.None}, rules.HoldOf(p, h).Proposed)
	p.Anchors[0].To = 1500 // sealed some time until after the tag: the pack is proof that somebody did
	require.Equal(t, record.Time(1500), rules.HoldOf(p, h).Proposed.To)
}

// DESIGN.md section 5: possible counts only checks that could have seen this fault:
// same place, right kind of test; an unknown place is seen by any.
func TestWhichChecksCouldHaveSeenAFault(t *testing.T) {
	look, dye, sheet, peel := record.Look, record.Dye, record.Indicator, record.Peel
	for name, c := range map[string]struct {
		kind   record.Fault
		place  record.Place
		places []record.Place
		tests  []record.Test
		sees   bool
	}{
		"the place was tested":           {record.Unsealed, record.Left, threePlaces, []record.Test{look}, true},
		"another place was tested":       {record.Unsealed, record.Left, []record.Place{record.Middle}, []record.Test{look}, false},
		"the whole width was tested":     {record.Unsealed, record.Left, []record.Place{record.Whole}, []record.Test{look}, true},
		"no place is known":              {record.Unsealed, record.NoPlace, []record.Place{record.Middle}, []record.Test{look}, true},
		"it was bad all along":           {record.Unsealed, record.Whole, []record.Place{record.Middle}, []record.Test{look}, true},
		"a channel and dye":              {record.Channel, record.Left, threePlaces, []record.Test{look, dye}, true},
		"a channel and a sheet":          {record.Channel, record.Left, threePlaces, []record.Test{look, sheet}, true},
		"a channel and a look":           {record.Channel, record.Left, threePlaces, []record.Test{look}, false},
		"a channel and a peel":           {record.Channel, record.Left, threePlaces, []record.Test{look, peel}, false},
		"a weak seal and a peel":         {record.Weak, record.Left, threePlaces, []record.Test{look, peel}, true},
		"a weak seal and a sheet":        {record.Weak, record.Left, threePlaces, []record.Test{look, sheet}, true},
		"a weak seal and dye":            {record.Weak, record.Left, threePlaces, []record.Test{look, dye}, false},
		"delamination and dye":           {record.Delamination, record.Left, threePlaces, []record.Test{look, dye}, false},
		"delamination and a peel":        {record.Delamination, record.Left, threePlaces, []record.Test{peel}, true},
		"a weak seal, not at that place": {record.Weak, record.Right, []record.Place{record.Left}, []record.Test{peel}, false},
	} {
		t.Run(name, func(t *testing.T) {
			near := good(1, 900)
			near.Places, near.Tests = c.places, c.tests
			h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{near}}
			hold := rules.HoldOf(bench(c.kind, c.place), h)
			require.Equal(t, record.Time(900), hold.Proposed.From)
			require.Equal(t, c.sees, hold.Possible.From == 900)
			require.Equal(t, !c.sees, hold.Open, "the lead answers for a difference")
		})
	}
}

func TestAPlaceLearnedLaterCountsForTheFirstFault(t *testing.T) {
	middle := good(1, 900)
	middle.Places = []record.Place{record.Middle}
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{middle}}
	p := bench(record.Channel, record.NoPlace)
	require.False(t, rules.HoldOf(p, h).Open)
	p.Place = record.Left
	require.True(t, rules.HoldOf(p, h).Open)
	p.Place, p.Kind, p.Anchors[0].Kind = record.NoPlace, record.Weak, ""
	require.True(t, rules.HoldOf(p, h).Open, "nor could dye see a weak seal")
}

func TestTheLeadsAnswerDecidesWhichWindowCounts(t *testing.T) {
	middle := good(1, 900)
	middle.Places = []record.Place{record.Middle}
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{middle},
		Packs: []rules.PackFact{packs(1, paperID, 300, 300), packs(2, paperID, 950, 950)}}
	p := bench(record.Channel, record.Left)
	require.Equal(t, 2, rules.HoldOf(p, h).Total)
	require.True(t, rules.HoldOf(p, h).Open)

	p.Answer = &rules.HoldAnswer{Accept: true}
	require.Equal(t, 3, rules.HoldOf(p, h).Total)
	require.False(t, rules.HoldOf(p, h).Open)
	p.Answer = &rules.HoldAnswer{}
	require.Equal(t, 2, rules.HoldOf(p, h).Total)
	require.False(t, rules.HoldOf(p, h).Open)

	p.Answer, p.Hold = nil, &rules.HoldSpan{From: 960, To: 1000}
	require.Equal(t, 0, rules.HoldOf(p, h).Total, "narrowed")
	require.False(t, rules.HoldOf(p, h).Open)
	require.False(t, rules.HoldOf(p, h).NoCheck)
	p.Hold.Stale = true
	require.True(t, rules.HoldOf(p, h).Open, "another fault came: answer again")
	p.Answer = &rules.HoldAnswer{Accept: true}
	require.Equal(t, 3, rules.HoldOf(p, h).Total)
}

func TestAnotherFaultAsksTheLeadAgain(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	h.step(p, &record.HoldChanged{From: 1, To: 2, Reason: "looked"})
	h.step(p, &record.HoldAnswered{Reason: "looked"})
	require.NotNil(t, h.problem(p).Answer)
	h.step(p, &record.PacksSettled{From: 1, To: 2})
	e := h.direct()
	e.Keep = true
	h.sent(e, s, h.paper, record.Fail)
	got := h.problem(p)
	require.Nil(t, got.Answer)
	require.True(t, got.Hold.Stale)
	require.Zero(t, got.SettledAt)
	h.step(p, &record.HoldAnswered{Accept: true, Reason: "yes"})
	h.step(p, &record.HoldChanged{From: 1, To: 3, Reason: "wider"})
	got = h.problem(p)
	require.Nil(t, got.Answer, "her window is her answer")
	require.Equal(t, &rules.HoldSpan{From: 1, To: 3, Reason: "wider", By: h.lead}, got.Hold)
}

func TestWhichPouchesAFaultConcerns(t *testing.T) {
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(1, 900)},
		Packs: []rules.PackFact{packs(1, paperID, 950, 950), packs(2, nonwovenID, 960, 960)}}
	total := func(change func(p *rules.Problem)) int {
		p := bench(record.Channel, record.Left)
		change(p)
		return rules.HoldOf(p, h).Total
	}
	require.Equal(t, 3, total(func(p *rules.Problem) {}), "a fault that was seen: every pouch, until the lead says heat")
	require.Equal(t, 3, total(func(p *rules.Problem) { p.Blame = record.BlamePlace }))
	require.Equal(t, 3, total(func(p *rules.Problem) { p.Blame = record.BlameBoth }))
	require.Equal(t, 1, total(func(p *rules.Problem) { p.Blame = record.BlameHeat }))
	require.Equal(t, 1, total(func(p *rules.Problem) { p.What, p.Kind = rules.WhatNotValid, "" }), "a test that said nothing: its own")
	require.Equal(t, 3, total(func(p *rules.Problem) { p.What = rules.WhatNotValid }), "until a fault is seen")
	require.Equal(t, 3, total(func(p *rules.Problem) {
		p.Blame = record.BlameHeat
		p.Anchors = append(p.Anchors, rules.Anchor{From: 1000, To: 1000, Pouch: nonwovenID})
	}), "heat missed the windows of both")
	require.Equal(t, 3, total(func(p *rules.Problem) { p.Blame, p.Anchors[0].Pouch = record.BlameHeat, record.ID{} }),
		"whose pouch it was is not known")
}

func TestPacksTouchingAWindowAreOnTheList(t *testing.T) {
	at := func(from, to record.Time) int {
		h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(1, 900), good(2, 1100)},
			Packs: []rules.PackFact{packs(1, paperID, from, to)}}
		return rules.HoldOf(bench(record.Channel, record.Left), h).Total
	}
	for _, in := range [][2]record.Time{{900, 900}, {800, 900}, {1100, 1100}, {1100, 1200}, {800, 1200}, {950, 960}} {
		require.Equal(t, 1, at(in[0], in[1]), in)
	}
	for _, out := range [][2]record.Time{{800, 899}, {1101, 1200}} {
		require.Equal(t, 0, at(out[0], out[1]), out)
	}
}

func TestTwoFaultsHaveOneWindowWhereTheyMeetAndTwoWhereTheyDoNot(t *testing.T) {
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(1, 200), good(2, 400), good(3, 900), good(4, 1100)}}
	with := func(from record.Time) rules.Hold {
		p := bench(record.Channel, record.Left)
		p.Anchors = append(p.Anchors, rules.Anchor{From: from, To: from, Pouch: paperID})
		return rules.HoldOf(p, h)
	}
	apart := with(300)
	require.Equal(t, rules.Bounds{From: 900, To: 1100, FromCheck: 3, ToCheck: 4}, apart.Proposed)
	require.Equal(t, []rules.Bounds{{From: 200, To: 400, FromCheck: 1, ToCheck: 2}}, apart.Also)
	require.False(t, apart.Open)
	next := with(500) // 400 to 900 meets 900 to 1100
	require.Equal(t, rules.Bounds{From: 400, To: 1100, FromCheck: 2, ToCheck: 4}, next.Proposed)
	require.Empty(t, next.Also)
	later := with(1100) // 1100 to now
	require.Equal(t, rules.Bounds{From: 900, To: 2000, FromCheck: 3, ToCheck: record.None}, later.Proposed)
	after := with(1200)
	require.Equal(t, later.Proposed, after.Proposed, "1100 to now, too")
}

// The load on the pack narrows the day, but only by entries made in time.
func TestTheLoadOnThePackNarrowsWhenItWasSealed(t *testing.T) {
	h := rules.History{Begins: 100, Now: 2000, Checks: []rules.CheckFact{good(1, 400), good(2, 600), good(3, 800)},
		Packs: []rules.PackFact{packs(1, paperID, 650, 660), packs(2, paperID, 700, 720), packs(3, paperID, 300, 310), packs(4, paperID, 650, 650)}}
	for i := range 3 {
		h.Packs[i].Load = "L1"
	}
	of := func(load string) rules.Bounds {
		p := bench(record.Channel, record.Left)
		p.Anchors[0] = rules.Anchor{From: 500, To: 900, Pouch: paperID, Load: load}
		return rules.HoldOf(p, h).Proposed
	}
	require.Equal(t, rules.Bounds{From: 600, To: 800, FromCheck: 2, ToCheck: 3}, of("L1"))
	require.Equal(t, rules.Bounds{From: 400, To: 2000, FromCheck: 1, ToCheck: record.None}, of("L2"), "no such load")
	require.Equal(t, of("L2"), of(""))
	h.Packs[0].Late, h.Packs[1].Late = true, true
	require.Equal(t, of("L2"), of("L1"))
}

func TestAPackFoundElsewhereWithNoDateCouldBeOfAnyDay(t *testing.T) {
	now := local("2026-01-13 10:00")
	for found, from := range map[string]record.Time{record.AtTheatre: 0, record.AtStore: 0, record.AtLoad: 0,
		record.AtBench: now, "": now} {
		h, s, _ := checkedAt(t, "07:00")
		h.clock = now
		r := h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Weak, Found: found})
		require.Equal(t, []rules.Anchor{{Seq: r.Seq, From: from, To: now, Pouch: h.paper, Kind: record.Weak}}, h.problem(r.ID).Anchors, found)
	}
}

// RULES.md R9 and the law on late facts: a tag that is told late must not let go
// of packs that were sealed before it was told.
func TestATagToldLateDoesNotEndTheWindow(t *testing.T) {
	h, s, p := startAt(t, "out of service")
	h.at("2026-01-13 11:00")
	h.packs(h.direct(), s, h.paper, 5)
	require.Equal(t, 5, h.hold(p).Total)
	h.at("2026-01-13 12:00")
	e := h.typed("2026-01-13 10:30", "2026-01-13 10:30")
	_, err := h.stepBy(e, p, &record.Tagged{SwitchedOff: true})
	require.NoError(t, err)
	require.Equal(t, local("2026-01-13 10:30"), h.problem(p).Tagged)
	require.Equal(t, 5, h.hold(p).Total)
	h.at("2026-01-13 13:00")
	require.Equal(t, h.clock, h.hold(p).Proposed.To)
	h.step(p, &record.Tagged{SwitchedOff: true})
	h.at("2026-01-13 14:00")
	h.step(p, &record.Tagged{SwitchedOff: true})
	require.Equal(t, local("2026-01-13 13:00"), h.hold(p).Proposed.To, "a second tag widens nothing")
}

// The desk reads a chain newest first and may stop where nothing can change.
func TestTheHistoryIsReadFarEnough(t *testing.T) {
	w := tellWalkC(t)
	p := w.report()
	w.failAtTheLeft(p.ID)
	p = w.problem(p.ID)
	for name, change := range map[string]func(p *rules.Problem){
		"as it is": func(p *rules.Problem) {},
		"seen by any check": func(p *rules.Problem) {
			p.Place = record.Middle
			for i := range p.Anchors {
				p.Anchors[i].Place = record.Middle
			}
		},
		"widened": func(p *rules.Problem) { p.Hold = &rules.HoldSpan{From: local("2026-02-04 00:00"), To: p.OpenedAt} },
		"no date": func(p *rules.Problem) { p.Anchors[0].From = 0 },
	} {
		t.Run(name, func(t *testing.T) {
			q := *p
			q.Anchors = append([]rules.Anchor(nil), p.Anchors...)
			change(&q)
			all := w.history(w.s)
			some := rules.History{Now: all.Now, Begins: all.Begins}
			for i := len(w.records) - 1; i >= 0 && !some.Enough(&q); i-- {
				if r := w.records[i]; r.Subject == sealerOf(w.s) {
					some.Add(&r)
				}
			}
			some.Sort()
			require.Equal(t, rules.HoldOf(&q, all), rules.HoldOf(&q, some))
		})
	}
}
