package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// house is an invented department over a book: zone America/New_York, day start
// 05:00, early check two hours before, late after 15 minutes.
type house struct {
	*book
	t                    testing.TB
	dept                 record.ID
	lead, tech, engineer record.ID
	paper, nonwoven      record.ID // pouches
}

func newHouse(t testing.TB) *house {
	h := &house{book: newBook(local("2026-01-02 09:00")), t: t}
	h.dept, h.lead, h.tech, h.engineer = h.newID(), h.newID(), h.newID(), h.newID()
	h.paper, h.nonwoven = h.newID(), h.newID()
	h.setUp(record.Subject{Type: record.Department, ID: h.dept},
		&record.DepartmentOpened{Name: "Sterile processing", DepartmentSettings: record.DepartmentSettings{
			Zone: "America/New_York", DayStart: 5 * 60, EarlyMinutes: 120, LateMinutes: 15, PackLog: true}})
	h.setUp(personOf(h.lead), &record.PersonAdded{Roles: []record.Role{record.Lead}})
	h.setUp(personOf(h.tech), &record.PersonAdded{Roles: []record.Role{record.Technician}})
	h.setUp(personOf(h.engineer), &record.PersonAdded{Roles: []record.Role{record.Engineering}})
	h.setUp(pouchOf(h.paper), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "Paper/film",
		Material: record.PaperFilm, Low: "165 °C", High: "200 °C"}})
	h.setUp(pouchOf(h.nonwoven), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "Nonwoven",
		Material: record.Nonwoven, Low: "120 °C", High: "130 °C"}})
	return h
}

// at moves the clock to a local time of New York.
func (h *house) at(text string) { h.clock = local(text) }

// later moves the clock on.
func (h *house) later(d time.Duration) { h.clock = h.clock.Add(d) }

// direct is an entry by somebody at the sealer, on a page that was just drawn.
func (h *house) direct() rules.Entry {
	return rules.Entry{ID: h.newID(), By: h.tech, Via: record.ViaPIN, Seen: h.size()}
}

// typed is an entry about an earlier time that a person typed.
func (h *house) typed(from, to string) rules.Entry {
	e := h.direct()
	e.Happened = record.Span{From: local(from), To: local(to), Said: record.Typed}
	return e
}

// phone is a storage that keeps entries and sends them later.
type phone struct {
	h    *house
	dev  record.ID
	n    int64
	seen int64 // as of the last page it got
}

func (h *house) phone() *phone { return &phone{h: h, dev: h.newID(), seen: h.size()} }

// kept is an entry that the phone kept at a time and sends now.
func (p *phone) kept(at string) rules.Entry { return p.keptAt(local(at)) }

func (p *phone) keptAt(at record.Time) rules.Entry {
	p.n++
	return rules.Entry{ID: p.h.newID(), By: p.h.tech, Via: record.ViaPIN, Dev: p.dev, DevN: p.n, Seen: p.seen,
		Happened: record.Moment(at), Queued: true}
}

func (h *house) do(e rules.Entry, decide decision) record.Record {
	h.t.Helper()
	records, err := h.write(h.t, e.ID, decide)
	require.NoError(h.t, err)
	require.NotEmpty(h.t, records)
	return records[0]
}

func (h *house) setUp(s record.Subject, facts record.Body) record.Record {
	h.t.Helper()
	r, err := h.trySetUp(s, facts)
	require.NoError(h.t, err)
	return r
}

func (h *house) trySetUp(s record.Subject, facts record.Body) (record.Record, error) {
	e := h.direct()
	e.By = h.lead
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.SetUp(v, rules.SaidSetUp{Entry: e, Dept: h.dept, Subject: s, Facts: facts}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

// sealer adds a sealer that nobody approved anything for.
func (h *house) sealer(number string, kind record.SealerType) record.ID {
	h.t.Helper()
	id := h.newID()
	h.setUp(sealerOf(id), &record.SealerAdded{Code: "C" + number, SealerFacts: record.SealerFacts{Number: number, Type: kind}})
	return id
}

// plan changes how sealers of a type are checked, from the default.
func (h *house) plan(kind record.SealerType, change func(*record.Plan)) {
	h.t.Helper()
	p := rules.DefaultPlan(kind)
	change(&p)
	h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.PlanSet{SealerType: kind, Plan: p})
}

// approve approves a setting in the unit of the sealer's type.
func (h *house) approve(s, pouch record.ID, value string) record.Seq {
	h.t.Helper()
	unit := map[record.SealerType]string{record.BarDial: "mark", record.Impulse: "mark", record.BarDisplay: "degC",
		record.Continuous: "degC"}[h.its(s).Type]
	return h.setUp(sealerOf(s), &record.ApprovalGiven{Pouch: pouch, Value: value, Unit: unit, Basis: record.FromIFU,
		IFU: record.Document{Title: "IFU of the sealer", Page: "7"}}).Seq
}

// bar is a bar sealer with a dial, approved for paper/film at 7 1/2.
func (h *house) bar(number string) record.ID {
	h.t.Helper()
	s := h.sealer(number, record.BarDial)
	h.approve(s, h.paper, "7 1/2")
	return s
}

// shared is a bar sealer with a display, approved for both pouches.
func (h *house) shared(number string) record.ID {
	h.t.Helper()
	s := h.sealer(number, record.BarDisplay)
	h.approve(s, h.paper, "180")
	h.approve(s, h.nonwoven, "125")
	return s
}

// check fills what the form fills: the approval, the plan's places and tests.
func (h *house) check(e rules.Entry, s record.ID, c record.Check) (record.Record, error) {
	h.t.Helper()
	sealer := h.its(s)
	plan := rules.GetDepartment(h, sealer.Dept).Plan(sealer.Type)
	for _, a := range sealer.Approvals {
		if a.Pouch == c.Pouch && c.Approval == 0 {
			c.Approval = a.Seq
		}
	}
	if c.Places == nil {
		c.Places = plan.Places
	}
	if c.Tests == nil {
		c.Tests = plan.Tests
	}
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Check(v, rules.SaidCheck{Entry: e, Sealer: s, Check: c}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

// tested is a check at the sealer that has to be taken.
func (h *house) tested(s, pouch record.ID, outcome record.Outcome) record.Record {
	h.t.Helper()
	return h.sent(h.direct(), s, pouch, outcome)
}

// sent is a check that came by an entry and has to be taken.
func (h *house) sent(e rules.Entry, s, pouch record.ID, outcome record.Outcome) record.Record {
	h.t.Helper()
	c := record.Check{Pouch: pouch, Outcome: outcome}
	switch outcome {
	case record.Fail:
		c.Kind = record.Channel
	case record.NotValid:
		c.Reason = "crept"
	case record.NotYet:
		c.Reason = "heating"
	}
	r, err := h.check(e, s, c)
	require.NoError(h.t, err)
	return r
}

func (h *house) pass(s, pouch record.ID) record.Record {
	h.t.Helper()
	return h.tested(s, pouch, record.Pass)
}

func (h *house) changeover(e rules.Entry, s, pouch record.ID) (record.Record, error) {
	h.t.Helper()
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Changeover(v, rules.SaidChangeover{Entry: e, Sealer: s,
			Changeover: record.Changeover{Pouch: pouch}}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

func (h *house) disturb(e rules.Entry, what string, sealers ...record.ID) record.Record {
	h.t.Helper()
	return h.do(e, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Disturb(v, rules.SaidDisturbance{Entry: e, Sealers: sealers,
			Disturbance: record.Disturbance{What: what}}, now)
	})
}

func (h *house) badSeal(e rules.Entry, s record.ID, b record.BadSeal) record.Record {
	h.t.Helper()
	return h.do(e, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.BadSeal(v, rules.SaidBadSeal{Entry: e, Sealer: s, BadSeal: b}, now)
	})
}

// found is a bad seal at the bench, just now.
func (h *house) found(s record.ID, kind record.Fault) record.Record {
	h.t.Helper()
	return h.badSeal(h.direct(), s, record.BadSeal{Kind: kind, Found: record.AtBench})
}

func (h *house) packs(e rules.Entry, s, pouch record.ID, count int) record.Record {
	h.t.Helper()
	return h.do(e, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.PacksSealed(v, rules.SaidPacks{Entry: e, Sealer: s,
			Packs: record.Packs{Pouch: pouch, Count: count}}, now)
	})
}

// try takes a step of a problem as the lead.
func (h *house) try(problem record.ID, step record.Body) (record.Record, error) {
	e := h.direct()
	e.By = h.lead
	return h.stepBy(e, problem, step)
}

func (h *house) stepBy(e rules.Entry, problem record.ID, step record.Body) (record.Record, error) {
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: problem, Step: step,
			Who: rules.GetPerson(v, e.By)}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

func (h *house) step(problem record.ID, step record.Body) record.Record {
	h.t.Helper()
	r, err := h.try(problem, step)
	require.NoError(h.t, err)
	return r
}

func (h *house) handBack(problem record.ID) record.Record {
	h.t.Helper()
	return h.step(problem, &record.HandedBack{Finding: "element", Action: "replaced"})
}

func (h *house) its(s record.ID) *rules.Sealer { return rules.GetSealer(h, s) }

func (h *house) problem(id record.ID) *rules.Problem { return rules.GetProblem(h, id) }

func (h *house) standing(s record.ID) record.Readiness { return rules.Standing(h, h.its(s), h.now()) }

// requireReady wants a sealer that may seal one pouch and no other.
func (h *house) requireReady(s, pouch record.ID) {
	h.t.Helper()
	st := h.standing(s)
	require.Equal(h.t, record.Ready, st.State, "want ready, is %s: %s", st.State, st.Why)
	for _, p := range []record.ID{h.paper, h.nonwoven} {
		require.Equal(h.t, p == pouch, rules.MaySeal(h, h.its(s), p, h.now()))
	}
}

// requireStands wants a sealer in a state and with a need, ready for nothing.
func (h *house) requireStands(s record.ID, state record.State, need record.Need, why string) {
	h.t.Helper()
	st := h.standing(s)
	require.Equal(h.t, []any{state, need, why}, []any{st.State, st.Need, st.Why})
	for _, p := range []record.ID{h.paper, h.nonwoven} {
		require.False(h.t, rules.MaySeal(h, h.its(s), p, h.now()))
	}
}
