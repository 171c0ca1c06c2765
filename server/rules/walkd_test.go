package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// night is a night shift with a power cut, told at times that move with the
// date: the walk's own, or a night in which the clocks change.
type night struct {
	*house
	one, two, four, five, a record.ID
	osei, ruiz              *phone
	fourteen                record.Record
}

// newNight has sealer 1 good the evening's morning and five approved sealers.
func newNight(t *testing.T, good string) *night {
	n := &night{house: newHouse(t)}
	n.one, n.two, n.four = n.bar("1"), n.bar("2"), n.bar("4")
	n.five, n.a = n.sealer("5", record.BarDisplay), n.sealer("A", record.Continuous)
	n.approve(n.five, n.paper, "176")
	n.approve(n.a, n.paper, "180")
	n.at(good)
	for _, s := range n.all() {
		n.pass(s, n.paper)
	}
	n.osei, n.ruiz = n.phone(), n.phone()
	return n
}

func (n *night) all() []record.ID { return []record.ID{n.one, n.two, n.four, n.five, n.a} }

// powerOff is the one entry for all five, kept on Osei's phone.
func (n *night) powerOff(from, to string) []record.Record {
	e := n.osei.kept(to)
	e.Happened = record.Span{From: local(from), To: local(to), Said: record.Typed}
	records, err := n.write(n.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Disturb(v, rules.SaidDisturbance{Entry: e, Sealers: n.all(),
			Disturbance: record.Disturbance{What: record.PowerOff}}, now)
	})
	require.NoError(n.t, err)
	return records
}

func tellWalkD(t *testing.T) *night {
	n := newNight(t, "2026-03-03 06:05")
	n.at("2026-03-04 02:55")
	n.fourteen = n.packs(n.typed("2026-03-03 23:20", "2026-03-04 02:50"), n.one, n.paper, 14)
	n.osei.seen, n.ruiz.seen = n.size(), n.size()

	n.at("2026-03-04 04:05") // Wi-Fi again: the phone sends what it kept, in order
	records := n.powerOff("2026-03-04 03:00", "2026-03-04 03:12")
	require.Len(t, records, 5, "one record each")
	good := n.sent(n.osei.kept("2026-03-04 03:36"), n.one, n.paper, record.Pass)
	require.Equal(t, []record.Date{date("2026-03-03"), date("2026-03-04")}, []record.Date{good.Day, good.Covers})
	require.Empty(t, good.Effect.Nothing)
	n.sent(n.osei.kept("2026-03-04 03:48"), n.five, n.paper, record.NotYet)
	e := n.osei.kept("2026-03-04 03:55")
	e.Cause = "setting-lost"
	five, err := n.check(e, n.five, record.Check{Pouch: n.paper, Outcome: record.Pass, Shown: "176 °C"})
	require.NoError(t, err)
	require.Equal(t, "setting-lost", five.Cause)
	require.Empty(t, five.Effect.Nothing)
	n.packs(n.typed("2026-03-04 03:40", "2026-03-04 04:04"), n.one, n.paper, 5)
	return n
}

func TestWalkDAnEarlyCheckAfterThePowerCutCarriesSealer1OverTheNewDay(t *testing.T) {
	n := tellWalkD(t)
	n.requireReady(n.one, n.paper)
	require.Equal(t, date("2026-03-03"), n.fourteen.Day, "the 23:20 and 02:50 packs belong to 3 March")
	n.at("2026-03-04 05:00")
	n.requireReady(n.one, n.paper)
	n.requireReady(n.five, n.paper)
	n.requireStands(n.a, record.CheckDue, record.NeedCheck, record.PowerOff)
	n.at("2026-03-05 04:59")
	n.requireReady(n.one, n.paper)
	n.at("2026-03-05 05:00")
	n.requireStands(n.one, record.CheckDue, record.NeedCheck, rules.WhyNewDay)
}

func TestWalkDPacksSealedBeforeAnybodyLookedAreHeldAndOseisAreNot(t *testing.T) {
	n := tellWalkD(t)
	n.at("2026-03-04 04:20")
	three := n.packs(n.typed("2026-03-04 03:20", "2026-03-04 03:35"), n.five, n.paper, 3)
	p := n.problem(three.ID)
	require.NotNil(t, p)
	require.Equal(t, rules.WhatUnready, p.What)
	require.False(t, p.NeedsEngineering(), "no blame")
	require.Equal(t, 3, n.hold(p.ID).Total)
	n.step(p.ID, &record.PackSettled{Packs: three.ID, Count: 3, Where: "cart", End: "repackaged"})
	require.Empty(t, n.its(n.one).Problems, "Osei's 14: power-off came after them, the next check was good")
	require.Empty(t, n.told, "nobody was woken")
	n.requireReady(n.five, n.paper)
}

// RULES.md R5, as the ledger does it: the id comes again, nothing is decided. The
// rules see to the rest: the same fact under another id changes nothing.
func TestWalkDTheSamePowerCutToldTwiceChangesNothing(t *testing.T) {
	n := tellWalkD(t)
	before := n.standing(n.one)
	again := n.disturb(n.typed("2026-03-04 03:00", "2026-03-04 03:12"), record.PowerOff, n.one)
	require.Equal(t, rules.NothingAnswered, again.Effect.Nothing)
	require.Equal(t, before, n.standing(n.one))
}

func TestWalkDOnPaperEnteredAt0820IsLateAndCountsForBothDays(t *testing.T) {
	for name, checkFirst := range map[string]bool{"in order": false, "the check first": true} {
		t.Run(name, func(t *testing.T) {
			n := newNight(t, "2026-03-03 06:05")
			n.at("2026-03-04 08:20")
			n.requireStands(n.one, record.CheckDue, record.NeedCheck, rules.WhyNewDay)
			off := func() record.Record {
				return n.disturb(n.typed("2026-03-04 03:00", "2026-03-04 03:12"), record.PowerOff, n.one)
			}
			if !checkFirst {
				require.True(t, off().Late)
			}
			e := n.typed("2026-03-04 03:36", "2026-03-04 03:36")
			e.By, e.OnBehalfOf = n.lead, n.tech
			r := n.sent(e, n.one, n.paper, record.Pass)
			if checkFirst {
				off()
			}
			require.True(t, r.Late)
			require.Equal(t, record.Told, r.Meaning)
			require.Equal(t, []record.Date{date("2026-03-03"), date("2026-03-04")}, []record.Date{r.Day, r.Covers})
			require.Equal(t, date("2026-03-04"), r.Effect.Arrived)
			n.requireReady(n.one, n.paper)
			require.Equal(t, n.goodBefore(n.one), n.its(n.one).Good[0].Seq, "a late check bounds no hold")
		})
	}
}

// goodBefore is the check of the evening's morning.
func (n *night) goodBefore(s record.ID) record.Seq {
	for _, r := range n.records {
		if r.Kind == "check" && r.Subject.ID == s {
			return r.Seq
		}
	}
	return record.None
}

// US rule since 2007 (Energy Policy Act of 2005, section 110): clocks go forward
// at 02:00 on the second Sunday of March, back at 02:00 on the first of November.
func TestWalkDInTheNightOf8MarchTenMinutesAreTenMinutes(t *testing.T) {
	n := newNight(t, "2026-03-07 06:05")
	n.osei.seen = n.size()
	off, on := local("2026-03-08T01:55:00-05:00"), local("2026-03-08T03:05:00-04:00")
	require.Equal(t, minutes(10), on.Sub(off))
	n.at("2026-03-08 03:06")
	n.powerOff("2026-03-08T01:55:00-05:00", "2026-03-08T03:05:00-04:00")
	st := n.standing(n.one)
	require.Equal(t, record.NotReady, st.State)
	require.Equal(t, local("2026-03-08 03:20"), st.Until, "15 minutes of warming after 03:05")

	n.at("2026-03-08 03:36")
	r := n.pass(n.one, n.paper)
	require.Equal(t, []record.Date{date("2026-03-07"), date("2026-03-08")}, []record.Date{r.Day, r.Covers})
	n.at("2026-03-08 05:00")
	n.requireReady(n.one, n.paper)
	n.requireStands(n.a, record.CheckDue, record.NeedCheck, record.PowerOff)
	require.Equal(t, 23*minutes(60), local("2026-03-08 05:00").Sub(local("2026-03-07 05:00")))
}

func TestWalkDInTheNightOf8MarchAnEarlyCheckIsTwoHoursOfElapsedTime(t *testing.T) {
	n := newNight(t, "2026-03-07 06:05")
	n.at("2026-03-08T01:59:59-05:00") // a second before 03:00 EDT
	require.Zero(t, n.pass(n.one, n.paper).Covers)
	n.at("2026-03-08T03:00:00-04:00")
	require.Equal(t, date("2026-03-08"), n.pass(n.one, n.paper).Covers)
}

func TestWalkDInTheNightOf1NovemberTheHourThatComesTwiceIsTwoHours(t *testing.T) {
	n := newNight(t, "2026-10-31 06:05")
	n.at("2026-11-01T01:31:00-05:00") // the second time
	n.osei.seen = n.size()
	n.powerOff("2026-11-01T01:30:00-04:00", "2026-11-01T01:30:00-05:00")
	st := n.standing(n.one)
	require.Equal(t, local("2026-11-01T01:45:00-05:00"), st.Until)
	n.at("2026-11-01T01:46:00-05:00")
	r := n.pass(n.one, n.paper)
	require.Zero(t, r.Covers, "3 h 14 min before day start")
	require.Equal(t, date("2026-10-31"), r.Day)
	n.requireReady(n.one, n.paper)
	n.at("2026-11-01T03:00:00-05:00")
	require.Equal(t, date("2026-11-01"), n.pass(n.one, n.paper).Covers)
	n.at("2026-11-01 05:00")
	n.requireReady(n.one, n.paper)
	require.Equal(t, 25*minutes(60), local("2026-11-01 05:00").Sub(local("2026-10-31 05:00")))
}
