package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

func (w *workplace) setPlan(change func(*desk.PlanIn)) {
	w.t.Helper()
	in := desk.PlanIn{From: w.from(), SealerType: record.BarDial, Places: []record.Place{record.Left},
		Tests: []record.Test{record.Look}, ReturnGood: 2}
	change(&in)
	_, err := w.SetPlan(w.ctx, w.lead(), in)
	require.NoError(w.t, err)
}

func (w *workplace) page() *desk.SealerView {
	w.t.Helper()
	view, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(w.t, err)
	return view
}

func TestAPlanWithAClosingCheckTellsWhatRestsOnTheLastOne(t *testing.T) {
	w := newWorkplace(t)
	w.logPacks()
	require.Nil(t, w.page().Unproved, "no plan asks")
	for name, change := range map[string]func(*desk.PlanIn){
		"closing":    func(in *desk.PlanIn) { in.Closing = true },
		"changeover": func(in *desk.PlanIn) { in.Changeover = true },
	} {
		w.setPlan(change)
		u := w.page().Unproved
		require.NotNil(t, u, name)
		require.Equal(t, 3, u.Packs)
	}
	w.now = w.now.Add(time.Minute)
	w.pass()
	require.Nil(t, w.page().Unproved, "checked just now")
	w.now = w.now.Add(20 * time.Minute)
	u := w.page().Unproved
	require.NotNil(t, u)
	require.Zero(t, u.Packs, "those before the check do not rest on it")
	w.logPacks()
	require.Equal(t, 3, w.page().Unproved.Packs)

	w.setPlan(func(*desk.PlanIn) {})
	require.Nil(t, w.page().Unproved, "no plan asks any more")
}
