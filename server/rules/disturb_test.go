package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestHowLongAChangeoverTakesDependsOnItsDirection(t *testing.T) {
	h := newHouse(t)
	h.plan(record.BarDisplay, func(p *record.Plan) { p.CoolMinutes, p.WarmMinutes = 40, 25 })
	s := h.shared("5")
	d := rules.GetDepartment(h, h.dept)
	approval := func(pouch record.ID) *rules.Approval {
		a, why := h.its(s).Approval(h, pouch, d.Day(h.now()))
		require.Empty(t, why)
		return a
	}
	change := func(from record.ID, to *rules.Approval) int { return h.its(s).ChangeMinutes(h, d, from, to, h.now()) }
	require.Equal(t, 40, change(h.paper, approval(h.nonwoven)), "180 to 125: cooling")
	require.Equal(t, 25, change(h.nonwoven, approval(h.paper)), "125 to 180: warming")
	require.Equal(t, 40, change(record.ID{}, approval(h.paper)), "from nobody knows what: the longer")
	require.Equal(t, 40, change(h.paper, nil), "to nobody knows what: the longer")
	h.approve(s, h.nonwoven, "180")
	require.Equal(t, 0, change(h.paper, approval(h.nonwoven)), "the same")
}

func TestAChangeoverIsRefusedWhereItMakesNoSense(t *testing.T) {
	for from, want := range map[string]fault.Code{"retired": fault.Gone, "out of service": fault.Stale, "with engineering": fault.Stale} {
		h, s, _ := startAt(t, from)
		_, err := h.changeover(h.direct(), s, h.nonwoven)
		require.Equal(t, want, fault.CodeOf(err), from)
	}
	h, s, _ := startAt(t, "ready")
	_, err := h.changeover(h.direct(), s, h.paper)
	require.ErrorContains(t, err, "set up for this pouch already")
	_, err = h.changeover(h.direct(), s, record.ID{9})
	require.ErrorContains(t, err, "There is no approved setting")
	_, err = h.changeover(h.direct(), record.ID{9}, h.paper)
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
	for minutes, ok := range map[int]bool{-1: false, 0: true, 1440: true, 1441: false} {
		_, err := rules.Changeover(h, rules.SaidChangeover{Entry: h.direct(), Sealer: s,
			Changeover: record.Changeover{Pouch: h.nonwoven, Minutes: minutes}}, h.now())
		require.Equal(t, ok, err == nil, minutes)
	}
}

// What did happen is written down, and changes nothing where the sealer is out.
func TestAChangeoverToldLaterOfASealerThatIsOutIsAFactOnly(t *testing.T) {
	h, s, _ := startAt(t, "out of service")
	r, err := h.changeover(h.typed("2026-01-13 09:50", "2026-01-13 09:50"), s, h.nonwoven)
	require.NoError(t, err)
	require.True(t, r.Effect.Takes)
	require.Nil(t, r.Effect.Readiness)
}

func TestTheMinutesOfAChangeoverMayBeSaid(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	h.do(h.direct(), func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Changeover(v, rules.SaidChangeover{Entry: h.direct(), Sealer: s,
			Changeover: record.Changeover{Pouch: h.nonwoven, Minutes: 7}}, now)
	})
	require.Equal(t, h.clock.Add(minutes(7)), h.standing(s).Until)
	h.later(minutes(7) - time.Millisecond)
	require.Equal(t, record.NotReady, h.standing(s).State)
	h.later(time.Millisecond)
	require.Equal(t, record.CheckDue, h.standing(s).State)
	require.Equal(t, h.clock, h.standing(s).From)
}

func TestASecondWaitNeverEndsBeforeTheFirst(t *testing.T) {
	h, s, _ := startAt(t, "changing over") // 40 minutes from 10:00
	h.disturb(h.direct(), record.PowerOff, s)
	require.Equal(t, local("2026-01-13 10:40"), h.standing(s).Until)
	h.at("2026-01-13 10:30")
	h.disturb(h.direct(), record.PowerOff, s)
	require.Equal(t, local("2026-01-13 10:45"), h.standing(s).Until)
}

func TestANewApprovalWhileSettlingDoesNotCutTheWaitShort(t *testing.T) {
	h, s, _ := startAt(t, "changing over")
	h.approve(s, h.nonwoven, "126")
	h.requireStands(s, record.NotReady, record.NeedCheck, rules.WhyApproval)
	require.Equal(t, local("2026-01-13 10:40"), h.standing(s).Until)
}

func TestOneEntryDisturbsManySealersARecordEach(t *testing.T) {
	h := newHouse(t)
	a, b := h.bar("1"), h.bar("2")
	h.pass(a, h.paper)
	e := h.direct()
	records, err := h.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Disturb(v, rules.SaidDisturbance{Entry: e, Sealers: []record.ID{a, b},
			Disturbance: record.Disturbance{What: record.PowerOff}}, now)
	})
	require.NoError(t, err)
	require.Len(t, records, 2)
	require.Equal(t, []record.ID{{}, e.ID}, []record.ID{records[0].Of, records[1].Of})
	for _, s := range []record.ID{a, b} {
		h.requireStands(s, record.NotReady, record.NeedCheck, record.PowerOff)
	}
}

func TestADisturbanceIsRefusedForWhatIsWrongInItself(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	for says, c := range map[string]rules.SaidDisturbance{
		"Say what happened":         {Sealers: []record.ID{s}, Disturbance: record.Disturbance{What: "sang"}},
		"Say which sealers":         {Disturbance: record.Disturbance{What: record.Pad}},
		"There is no such sealer":   {Sealers: []record.ID{s, {9}}, Disturbance: record.Disturbance{What: record.Pad}},
		"from 0 to 1440":            {Sealers: []record.ID{s}, Disturbance: record.Disturbance{What: record.Pad, Minutes: 1441}},
		"the minutes until a check": {Sealers: []record.ID{s}, Disturbance: record.Disturbance{What: record.Pad, Minutes: -1}},
	} {
		c.Entry = h.direct()
		_, err := rules.Disturb(h, c, h.now())
		require.ErrorContains(t, err, says)
	}
	for _, what := range record.Disturbances() {
		h.pass(s, h.paper)
		h.disturb(h.direct(), what, s)
		require.NotEqual(t, record.Ready, h.standing(s).State, what)
		h.later(minutes(15))
	}
}

func TestMinutesOfADisturbanceThatIsNoPowerCutMayBeSaid(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	h.do(h.direct(), func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Disturb(v, rules.SaidDisturbance{Entry: h.direct(), Sealers: []record.ID{s},
			Disturbance: record.Disturbance{What: record.Element, Minutes: 1440}}, now)
	})
	require.Equal(t, h.clock.Add(minutes(1440)), h.standing(s).Until)
}

// DESIGN.md section 5: an impulse sealer heats for each seal alone; the others
// have their times from the plan (defaults: common practice, no source).
func TestAPlanHasItsDefaultsByType(t *testing.T) {
	for kind, want := range map[record.SealerType][2]int{record.Impulse: {0, 0}, record.Continuous: {25, 15},
		record.BarDial: {40, 15}, record.BarDisplay: {40, 15}} {
		p := rules.DefaultPlan(kind)
		require.Equal(t, want, [2]int{p.CoolMinutes, p.WarmMinutes}, kind)
		require.Equal(t, kind == record.Continuous || kind == record.BarDisplay, p.AskShown, kind)
		require.Equal(t, kind == record.Continuous, len(p.Places) == 1, kind)
		require.Equal(t, []record.Test{record.Look, record.Dye}, p.Tests)
	}
	h := newHouse(t)
	s := h.sealer("7", record.Impulse)
	h.approve(s, h.paper, "6")
	h.pass(s, h.paper)
	h.disturb(h.direct(), record.PowerOff, s)
	h.requireStands(s, record.CheckDue, record.NeedCheck, record.PowerOff)
}
