package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// amending names a record as a page that was just drawn shows it.
func (b *book) amending(e rules.Entry, of record.Seq, why string) rules.Amending {
	original := b.records[of]
	a := rules.Amending{Entry: e, Original: &original, Current: &original, Why: why}
	for i := range b.records {
		if r := &b.records[i]; r.Corrects != record.None && r.Original() == of && r.Of.IsZero() && r.Effect.Nothing != rules.NothingSecond {
			a.Current = r
		}
	}
	return a
}

func (h *house) byLead() rules.Entry {
	e := h.direct()
	e.By = h.lead
	return e
}

func (h *house) correct(of record.Seq, c record.Corrected) ([]record.Record, error) {
	e := h.byLead()
	return h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Correct(v, rules.SaidCorrection{Amending: h.amending(e, of, "typed wrong"), Correction: c}, now)
	})
}

func (h *house) void(of record.Seq) ([]record.Record, error) {
	e := h.byLead()
	return h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Void(v, rules.SaidVoid{Amending: h.amending(e, of, "wrong sealer")}, now)
	})
}

func (h *house) confirm(by record.ID, of record.Seq) ([]record.Record, error) {
	e := h.byLead()
	e.By = by
	return h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.ConfirmVoid(v, rules.SaidConfirmation{Amending: h.amending(e, of, "")}, now)
	})
}

func (h *house) mustVoid(of record.Seq) []record.Record {
	h.t.Helper()
	rs, err := h.void(of)
	require.NoError(h.t, err)
	return rs
}

func (h *house) its0(of record.Seq) *record.Check {
	body, err := h.records[of].Content()
	require.NoError(h.t, err)
	c := *body.(*record.Check)
	return &c
}

func TestTakingBackTheCheckBehindReadyTakesReady(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	first := h.pass(s, h.paper)
	h.later(time.Hour)
	h.mustVoid(first.Seq)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyVoided)

	// An older check than the one behind Ready takes nothing.
	h.later(time.Minute)
	older := h.pass(s, h.paper)
	h.later(time.Minute)
	h.pass(s, h.paper)
	h.later(time.Minute)
	h.mustVoid(older.Seq)
	h.requireReady(s, h.paper)

	// Taken back is taken back.
	_, err := h.void(older.Seq)
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	_, err = h.correct(older.Seq, record.Corrected{Note: true})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
}

func TestTakingBackOneOfTwoFreshPouchesTakesWhatTheyGave(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	h.tested(s, h.paper, record.NotValid)
	h.later(time.Minute)
	first := h.pass(s, h.paper)
	h.later(time.Minute)
	require.Equal(t, 1, h.standing(s).Good)
	h.mustVoid(first.Seq)
	require.Equal(t, 0, h.standing(s).Good, "it counted towards two")
	second := h.pass(s, h.paper)
	h.later(time.Minute)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	h.later(time.Minute)
	h.mustVoid(second.Seq)
	require.Equal(t, record.CheckDue, h.standing(s).State, "ready rested on both")
}

func TestAReadingMayBeCorrectedAndTheOutcomeMayNot(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	r := h.pass(s, h.paper)
	c := h.its0(r.Seq)
	c.Kit = "K-17"
	rs, err := h.correct(r.Seq, record.Corrected{Check: c})
	require.NoError(t, err)
	require.Len(t, rs, 1)
	require.Equal(t, r.Seq, rs[0].Corrects)
	h.requireReady(s, h.paper)

	// The next one names the newest version, not the original.
	stale := h.amending(h.byLead(), r.Seq, "why")
	stale.Current = stale.Original
	_, err = rules.Correct(h, rules.SaidCorrection{Amending: stale, Correction: record.Corrected{Check: h.its0(r.Seq)}}, h.now())
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	_, err = h.correct(r.Seq, record.Corrected{Check: c})
	require.Equal(t, fault.Invalid, fault.CodeOf(err), "nothing is different")

	for name, change := range map[string]func(*record.Check){
		"outcome": func(c *record.Check) { c.Outcome = record.Fail }, "pouch": func(c *record.Check) { c.Pouch = h.nonwoven },
		"places": func(c *record.Check) { c.Places = []record.Place{record.Whole} }, "approval": func(c *record.Check) { c.Approval++ },
		"tests": func(c *record.Check) { c.Tests = []record.Test{record.Peel} }} {
		other := h.its0(r.Seq)
		change(other)
		_, err := h.correct(r.Seq, record.Corrected{Check: other})
		require.ErrorContains(t, err, "A correction cannot change", name)
	}
	e := h.byLead()
	_, err = rules.Void(h, rules.SaidVoid{Amending: h.amending(e, r.Seq, " ")}, h.now())
	require.ErrorContains(t, err, "Give the reason")
}

func TestACheckWhoseTimeWasMovedProvesNothingMore(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	r := h.pass(s, h.paper)
	h.later(time.Hour)
	at := record.Span{From: local("2026-01-13 05:30"), To: local("2026-01-13 05:30")}
	_, err := h.correct(r.Seq, record.Corrected{Happened: &at})
	require.NoError(t, err)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyCorrected)
	late := record.Span{From: local("2026-01-13 06:30"), To: local("2026-01-13 06:30")}
	_, err = h.correct(r.Seq, record.Corrected{Happened: &late})
	require.ErrorContains(t, err, "it cannot have happened later")
}

func TestAStopIsTakenBackOnlyByTwoPeopleAndThenWantsReturnChecks(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	h.later(time.Hour)
	stop := h.found(s, record.Channel)
	h.later(time.Minute)
	asked := h.mustVoid(stop.Seq)
	require.Equal(t, rules.NothingSecond, asked[0].Effect.Nothing)
	h.requireStands(s, record.OutOfService, record.NeedNothing, rules.WhyBadSeal)

	_, err := h.confirm(h.lead, stop.Seq)
	require.Equal(t, fault.Forbidden, fault.CodeOf(err), "the same person")
	_, err = h.void(stop.Seq)
	require.Equal(t, fault.Stale, fault.CodeOf(err), "asked once is enough")
	rs, err := h.confirm(h.tech, stop.Seq)
	require.NoError(t, err)
	require.Len(t, rs, 2, "one for the sealer, one for the problem")
	require.Contains(t, rs[0].RestsOn, asked[0].Seq)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyStopVoided)
	require.False(t, h.problem(stop.ID).Out)
	h.later(time.Minute)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	require.Zero(t, h.problem(stop.ID).Closed, "the packs still have to be settled")
	require.Zero(t, h.problem(stop.ID).SettledAt)
}

func TestAStopStaysWhileAnotherFaultOfTheProblemStands(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	h.later(time.Hour)
	first := h.found(s, record.Channel)
	h.later(time.Minute)
	e := h.typed("2026-01-13 06:30", "2026-01-13 06:30")
	second := h.sent(e, s, h.paper, record.Fail)
	h.mustVoid(first.Seq)
	_, err := h.confirm(h.tech, first.Seq)
	require.NoError(t, err)
	h.requireStands(s, record.OutOfService, record.NeedNothing, h.standing(s).Why)
	h.mustVoid(second.Seq)
	_, err = h.confirm(h.engineer, second.Seq)
	require.NoError(t, err)
	h.requireStands(s, record.CheckDue, record.NeedReturn, rules.WhyStopVoided)
}

func TestAHoldLooksPastACheckThatWasTakenBack(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-12 06:00")
	before := h.pass(s, h.paper)
	h.packs(h.direct(), s, h.paper, 7)
	h.at("2026-01-13 06:00")
	wrong := h.pass(s, h.paper)
	h.packs(h.direct(), s, h.paper, 5)
	h.at("2026-01-13 10:00")
	stop := h.found(s, record.Channel)
	require.Equal(t, wrong.Seq, h.holdOf(stop.ID).Proposed.FromCheck)
	h.mustVoid(wrong.Seq)
	hold := h.holdOf(stop.ID)
	require.Equal(t, before.Seq, hold.Proposed.FromCheck)
	require.Equal(t, 12, hold.Total)
}

// holdOf draws a hold as a page does.
func (h *house) holdOf(problem record.ID) rules.Hold {
	p := h.problem(problem)
	history := rules.History{Now: h.now(), Begins: h.its(p.Sealer).Begins}
	for i := len(h.records) - 1; i >= 0; i-- {
		if r := h.records[i]; r.Subject == sealerOf(p.Sealer) {
			history.Add(&r)
		}
	}
	history.Sort()
	return rules.HoldOf(p, history)
}

func TestPacksThatWereSettledAreOpenAgainWhenTheirEndIsCorrected(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	h.packs(h.direct(), s, h.paper, 5)
	h.later(time.Hour)
	stop := h.found(s, record.Channel)
	settled := h.step(stop.ID, &record.PackSettled{Count: 5, End: "repackaged"})
	hold := h.holdOf(stop.ID)
	h.step(stop.ID, &record.PacksSettled{From: hold.Counts.From, To: hold.Counts.To, Packs: hold.Total})
	_, err := h.correct(settled.Seq, record.Corrected{Settled: &record.PackSettled{Count: 4, End: "repackaged"}})
	require.NoError(t, err)
	require.Zero(t, h.problem(stop.ID).SettledAt)
	require.Equal(t, 4, h.problem(stop.ID).Settled[0].Count)
	h.mustVoid(settled.Seq)
	require.Empty(t, h.problem(stop.ID).Settled)
}

func TestAKindFromWhichSomethingElseFollowsIsReportedAnew(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	crease := h.found(s, record.Crease)
	_, err := h.correct(crease.Seq, record.Corrected{BadSeal: &record.BadSeal{Kind: record.Channel, Found: record.AtBench}})
	require.ErrorContains(t, err, "Something else follows")
	_, err = h.correct(crease.Seq, record.Corrected{BadSeal: &record.BadSeal{Kind: record.Tear, Found: record.AtBench}})
	require.NoError(t, err)
}

func TestADayIsNotCheckedByACheckThatWasTakenBack(t *testing.T) {
	h := newHouse(t)
	s := h.bar("2")
	h.at("2026-01-13 06:00")
	r := h.pass(s, h.paper)
	day := r.Day
	status := func() rules.DayStatus {
		return rules.Completeness(h.its(s), h.records, nil, day, day, day+1)[0].Status
	}
	require.Equal(t, rules.DayChecked, status())
	h.mustVoid(r.Seq)
	require.Equal(t, rules.DayMissing, status())
}

// Whatever happened and whatever is corrected: no correction gives Ready, and a
// hold that was open does not lose a pack but by the correction of that pack.
func TestNoCorrectionGivesReady(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(3, 20).Draw(rt, "steps") {
			w.step()
			w.amendSomething()
		}
	})
}

func (w *world) amendSomething() {
	var can []record.Seq
	for i := range w.records {
		if rules.Correctable(&w.records[i]) {
			can = append(can, w.records[i].Seq)
		}
	}
	if len(can) == 0 {
		return
	}
	of := rapid.SampledFrom(can[max(0, len(can)-5):]).Draw(w.rt, "of")
	e := w.byLead()
	e.By = rapid.SampledFrom([]record.ID{w.lead, w.tech}).Draw(w.rt, "by")
	a := w.amending(e, of, "w")
	decide := func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Void(v, rules.SaidVoid{Amending: a}, now)
	}
	switch rapid.SampledFrom([]string{"void", "confirm", "confirm", "time", "kit"}).Draw(w.rt, "amend") {
	case "confirm":
		decide = func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.ConfirmVoid(v, rules.SaidConfirmation{Amending: a}, now)
		}
	case "time":
		h := a.Original.Happened
		moved := record.Span{From: h.From.Add(-w.aWhile()), To: h.To}
		decide = func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.Correct(v, rules.SaidCorrection{Amending: a, Correction: record.Corrected{Happened: &moved}}, now)
		}
	case "kit":
		c := record.Corrected{Note: true}
		if body, _ := a.Original.Content(); body != nil {
			if k, ok := body.(*record.Check); ok {
				changed := *k
				changed.Kit += "x"
				c = record.Corrected{Check: &changed}
			}
		}
		decide = func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.Correct(v, rules.SaidCorrection{Amending: a, Correction: c}, now)
		}
	}
	before := w.standing(w.s)
	records, err := w.write(w.rt, e.ID, decide)
	require.NotEqual(w.rt, fault.Internal, fault.CodeOf(err), "%v", err)
	after := w.standing(w.s)
	for _, r := range records {
		require.True(w.rt, r.Effect.Readiness == nil || r.Effect.Readiness.State != record.Ready)
	}
	if after.State == record.Ready {
		require.Equal(w.rt, before, after, "ready by a correction")
	}
	if before.State == record.OutOfService && after.State != record.OutOfService {
		require.Equal(w.rt, record.NeedReturn, after.Need)
		require.Equal(w.rt, record.Kind("void-confirmed"), records[0].Kind)
	}
	w.told = len(w.records) // the oracle knows nothing of corrections
}
