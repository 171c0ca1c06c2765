package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// askTraining has the department ask for sign-offs.
func (h *house) askTraining() {
	h.t.Helper()
	h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.TrainingAsked{Ask: true, Reason: "policy 4.2"})
}

// train signs the technician off for checks at bars with a dial.
func (h *house) train(on, due string) record.Record {
	h.t.Helper()
	b := &record.Trained{Types: []record.SealerType{record.BarDial}, For: []record.Skill{record.ToCheck}, ShownBy: h.lead,
		AssessedBy: h.lead, On: date(on)}
	if due != "" {
		b.DueAgain = date(due)
	}
	return h.setUp(personOf(h.tech), b)
}

func TestNobodyIsAskedForTrainingUntilALeadSaysSo(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	h.train("2026-01-13", "")
	require.False(t, rules.GetDepartment(h, h.dept).AskTraining, "one sign-off does not shut the others out")
}

func TestAGoodCheckCountsOnlyFromWhoIsSignedOffForThatTypeOnThatDay(t *testing.T) {
	for name, c := range map[string]struct {
		train func(h *house)
		ok    bool
	}{
		"nobody trained": {func(*house) {}, false},
		"trained":        {func(h *house) { h.train("2026-01-10", "") }, true},
		"on its last day": {func(h *house) {
			h.train("2026-01-10", "2026-01-13")
		}, true},
		"run out the day before": {func(h *house) { h.train("2026-01-10", "2026-01-12") }, false},
		"for another type": {func(h *house) {
			h.setUp(personOf(h.tech), &record.Trained{Types: []record.SealerType{record.Continuous},
				For: []record.Skill{record.ToCheck}, On: date("2026-01-10")})
		}, false},
		"for fixes alone": {func(h *house) {
			h.setUp(personOf(h.tech), &record.Trained{Types: []record.SealerType{record.BarDial},
				For: []record.Skill{record.ToFix}, On: date("2026-01-10")})
		}, false},
		"renewed": {func(h *house) { h.train("2025-01-10", "2026-01-10"); h.train("2026-01-11", "2027-01-11") }, true},
		"taken back": {func(h *house) {
			h.train("2026-01-10", "")
			h.setUp(personOf(h.tech), &record.TrainingEnded{Types: []record.SealerType{record.BarDial},
				For: []record.Skill{record.ToCheck}, Why: "asked for a refresher"})
		}, false},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.bar("1")
			h.at("2026-01-13 06:00")
			c.train(h)
			h.askTraining()
			_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
			require.Equal(t, c.ok, err == nil, "%v", err)
			if !c.ok {
				require.Equal(t, fault.Forbidden, fault.CodeOf(err))
				require.Equal(t, record.CheckDue, h.standing(s).State)
				return
			}
			h.requireReady(s, h.paper)
		})
	}
}

func TestAFailStopsWhoeverTellsIt(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 06:00")
	h.askTraining()
	h.tested(s, h.paper, record.Fail)
	require.Equal(t, record.OutOfService, h.standing(s).State)
}

// untrained has a phone send a good check of somebody who is not signed off.
func untrained(t *testing.T) (h *house, s record.ID, r record.Record) {
	h = newHouse(t)
	s = h.bar("1")
	h.at("2026-01-13 06:00")
	h.askTraining()
	p := h.phone()
	h.at("2026-01-13 06:20")
	r, err := h.check(p.kept("2026-01-13 06:10"), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.NoError(t, err, "what a phone kept is never lost")
	require.Equal(t, rules.NothingUntrained, r.Effect.Nothing)
	require.Equal(t, record.CheckDue, h.standing(s).State)
	require.Equal(t, []record.Seq{r.Seq}, h.its(s).Waiting)
	require.Empty(t, h.its(s).Good, "it bounds no hold")
	require.False(t, h.history(s).Checks[0].Witnessed)
	return h, s, r
}

func (h *house) accept(by, s record.ID, check record.Record, reason string) (record.Record, error) {
	e := h.direct()
	e.By = by
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.AcceptCheck(v, rules.SaidAccept{Entry: e, Sealer: s, Check: check, Reason: reason}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

func (h *house) days(s record.ID, day string) []rules.DayRow {
	var chain []record.Record
	for _, r := range h.records {
		if r.Subject == sealerOf(s) {
			chain = append(chain, r)
		}
	}
	return rules.Completeness(h.its(s), chain, nil, date(day), date(day), date(day)+1)
}

func TestALeadCanLetAKeptCheckCount(t *testing.T) {
	h, s, r := untrained(t)
	require.Equal(t, rules.DayUnsigned, h.days(s, "2026-01-13")[0].Status)
	_, err := h.accept(h.lead, s, r, " ")
	require.ErrorContains(t, err, "Say why")
	_, err = h.accept(h.tech, s, r, "it was good")
	require.ErrorContains(t, err, "somebody else")
	a, err := h.accept(h.lead, s, r, "watched it")
	require.NoError(t, err)
	require.Empty(t, a.Effect.Nothing)
	h.requireReady(s, h.paper)
	st := h.standing(s)
	require.Equal(t, []any{r.Seq, r.Happened.From}, []any{st.Check, st.CheckAt}, "ready by the check, since the check")
	require.Equal(t, rules.DayChecked, h.days(s, "2026-01-13")[0].Status)
	require.Empty(t, h.its(s).Good, "it still bounds no hold")
	_, err = h.accept(h.lead, s, r, "again")
	require.Equal(t, fault.Stale, fault.CodeOf(err))
}

func TestAnAcceptedCheckGivesNothingAfterWhatCameSince(t *testing.T) {
	for name, c := range map[string]struct {
		then func(h *house, s record.ID)
		want string
	}{
		"power off since": {func(h *house, s record.ID) { h.disturb(h.direct(), record.KnobMoved, s) }, rules.NothingOrder},
		"another day":     {func(h *house, _ record.ID) { h.at("2026-01-14 06:00") }, rules.NothingOldDay},
		"stopped":         {func(h *house, s record.ID) { h.found(s, record.Channel) }, rules.NothingNotDue},
	} {
		t.Run(name, func(t *testing.T) {
			h, s, r := untrained(t)
			h.later(minutes(5))
			c.then(h, s)
			h.later(minutes(30))
			a, err := h.accept(h.lead, s, r, "watched it")
			require.NoError(t, err)
			require.Equal(t, c.want, a.Effect.Nothing)
			require.NotEqual(t, record.Ready, h.standing(s).State)
		})
	}
}

func TestAGoodCheckOfSomebodySignedOffLeavesNothingWaiting(t *testing.T) {
	h, s, r := untrained(t)
	h.train("2026-01-13", "")
	h.later(minutes(5))
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	require.Empty(t, h.its(s).Waiting)
	_, err := h.accept(h.lead, s, r, "late")
	require.Equal(t, fault.Stale, fault.CodeOf(err))
}

func TestACheckEnteredForSomebodyIsThatPersonsAsFarAsTrainingGoes(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 06:00")
	h.train("2026-01-10", "")
	h.askTraining()
	e := h.direct()
	e.By, e.OnBehalfOf = h.lead, h.tech
	h.sent(e, s, h.paper, record.Pass)
	h.requireReady(s, h.paper)
	e = h.direct()
	e.By = h.lead
	_, err := h.check(e, s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.Equal(t, fault.Forbidden, fault.CodeOf(err), "leading is not a sign-off")
}

func TestWithSignOffsAskedForAFixIsForTheLeadAndWhoeverIsSignedOffForIt(t *testing.T) {
	d := &rules.Department{AskTraining: true}
	marked := &rules.Person{Roles: []record.Role{record.Technician}, FirstLine: true}
	signed := &rules.Person{Roles: []record.Role{record.Technician},
		Trained: []rules.Training{{Type: record.Impulse, For: record.ToFix, On: 20000, Due: 20500}}}
	lead := &rules.Person{Roles: []record.Role{record.Lead}}
	fix := func(d *rules.Department, p *rules.Person, t record.SealerType, day record.Date) bool {
		return d.SignedOff(p, record.ToFix, t, day)
	}
	require.False(t, fix(d, marked, record.Impulse, 20400))
	require.True(t, fix(&rules.Department{}, marked, record.Impulse, 20400))
	require.True(t, fix(d, signed, record.Impulse, 20500))
	require.False(t, fix(d, signed, record.Impulse, 20501))
	require.False(t, fix(d, signed, record.BarDial, 20400))
	require.True(t, fix(d, lead, record.BarDial, 20400))
	require.True(t, fix(&rules.Department{}, signed, record.Impulse, 20400))
	require.False(t, fix(&rules.Department{}, nil, record.Impulse, 20400))
}

func TestASignOffNamesWhatItIsForAndSomebodyElse(t *testing.T) {
	h := newHouse(t)
	good := record.Trained{Types: []record.SealerType{record.Impulse}, For: []record.Skill{record.ToCheck}, On: date("2026-01-02")}
	for name, c := range map[string]struct {
		change func(*record.Trained)
		field  string
	}{
		"no type":           {func(b *record.Trained) { b.Types = nil }, "types"},
		"a type of nothing": {func(b *record.Trained) { b.Types = []record.SealerType{"iron"} }, "types"},
		"for nothing":       {func(b *record.Trained) { b.For = nil }, "for"},
		"by themselves":     {func(b *record.Trained) { b.AssessedBy = h.tech }, "assessed_by"},
		"shown by nobody":   {func(b *record.Trained) { b.ShownBy = h.newID() }, "shown_by"},
		"on no day":         {func(b *record.Trained) { b.On = 0 }, "on"},
		"due before it was": {func(b *record.Trained) { b.DueAgain = b.On - 1 }, "due_again"},
	} {
		t.Run(name, func(t *testing.T) {
			b := good
			c.change(&b)
			_, err := h.trySetUp(personOf(h.tech), &b)
			var f *fault.Error
			require.ErrorAs(t, err, &f)
			require.Equal(t, c.field, f.Field, f.Message)
		})
	}
	_, err := h.trySetUp(personOf(h.tech), &record.TrainingEnded{Types: good.Types, For: good.For, Why: "none"})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
}
