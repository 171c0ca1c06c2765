package rules_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// Walk F: six sealers, manuals that say "paper/plastic: 6", no thermometer, no
// pack log, plans as they come.
func TestWalkFSixSealersAreReadyWithoutADegree(t *testing.T) {
	b := newBook(local("2026-05-04 06:00"))
	h := &house{book: b, t: t, dept: b.newID(), lead: b.newID()}
	h.tech, h.paper, h.nonwoven = h.lead, b.newID(), b.newID()
	open := rules.SaidSetUp{Entry: h.direct(), Dept: h.dept, Subject: record.Subject{Type: record.Department, ID: h.dept},
		Facts: &record.DepartmentOpened{Name: "SPD", DepartmentSettings: record.DepartmentSettings{
			Zone: "America/New_York", DayStart: 300, EarlyMinutes: 120, LateMinutes: 15}}}
	_, err := b.write(t, open.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.OpenSite(v, open, h.lead, nil, now)
	})
	require.NoError(t, err)
	h.setUp(pouchOf(h.paper), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "Paper/plastic", Material: record.PaperFilm}})

	var sealers []record.ID
	for i, kind := range []record.SealerType{record.Impulse, record.Impulse, record.BarDial, record.Impulse, record.BarDial, record.BarDial} {
		s := h.sealer(fmt.Sprint(i+1), kind)
		h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyNew)
		h.setUp(sealerOf(s), &record.ApprovalGiven{Pouch: h.paper, Value: "6", Unit: "mark", Basis: record.FromIFU,
			IFU: record.Document{Title: "Manual", Page: "9"}})
		sealers = append(sealers, s)
	}
	h.at("2026-05-04 06:40") // forty minutes later
	for _, s := range sealers {
		r := h.pass(s, h.paper)
		require.Empty(t, r.Effect.Nothing)
		h.requireReady(s, h.paper)
	}
	require.Empty(t, h.told)

	h.at("2026-05-05 06:30")
	p := h.tested(sealers[2], h.paper, record.Fail).ID
	hold := h.hold(p)
	require.Equal(t, local("2026-05-04 06:40"), hold.Proposed.From, "packs since yesterday 06:40")
	require.Empty(t, hold.Packs, "none logged: look for sealer 3, yesterday's date")
	require.False(t, hold.NoCheck)
	require.Equal(t, "3", h.its(sealers[2]).Number)
	for i, s := range sealers {
		if i != 2 {
			h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyNewDay)
		}
	}
}
