package desk_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// Two people settle the same packs at once: one wins, the other sees who.
func TestOfTwoWhoSettleAtOnceOneWinsAndTheOtherSeesWho(t *testing.T) {
	w := newWorkplace(t)
	w.goWrong()
	callers := []desk.Caller{w.lead(), w.staff[record.Technician]}
	names := []string{"V. Costa", "A technician"}
	errs := make([]error, 2)
	forms := []desk.From{w.from(), w.from()}
	var both sync.WaitGroup
	for i, who := range callers {
		both.Go(func() {
			_, errs[i] = w.SettlePacks(w.ctx, who, desk.SettleIn{ProblemIn: w.in(forms[i]), Rows: []record.ID{w.packs}, End: "repackaged"})
		})
	}
	both.Wait()
	won := 0
	if errs[0] != nil {
		won = 1
	}
	require.NoError(t, errs[won])
	require.Equal(t, fault.Stale, fault.CodeOf(errs[1-won]), "%v", errs[1-won])
	require.ErrorContains(t, errs[1-won], names[won]+" settled 3 at 07:25: repackaged")

	view, err := w.Hold(w.lead(), w.problem)
	require.NoError(t, err)
	require.Len(t, view.HoldList.Ends, 1)
	require.Zero(t, view.HoldList.Left)
}

func TestPacksAreWhereTheNewestWordPutsThemAndTheListFollowsThatOrder(t *testing.T) {
	w := newWorkplace(t)
	w.logPacks()
	first := w.packs
	w.goWrong() // three more
	locate := func(entry record.ID, count int, where string) {
		_, err := w.LocatePacks(w.ctx, w.lead(), desk.LocateIn{ProblemIn: w.in(w.from()), Rows: []record.ID{entry}, Count: count, Where: where})
		require.NoError(t, err)
	}
	locate(w.packs, 3, record.InStore)
	locate(w.packs, 2, record.InStore) // one less on a second look
	locate(w.packs, 1, record.Issued)
	view, err := w.Hold(w.lead(), w.problem)
	require.NoError(t, err)
	require.Equal(t, w.packs, view.HoldList.Rows[0].ID, "what is found comes before what is not")
	require.Equal(t, first, view.HoldList.Rows[1].ID)
	require.Equal(t, []desk.HoldAt{{Where: record.InStore, Count: 2}, {Where: record.Issued, Count: 1}}, view.HoldList.Rows[0].At)

	_, err = w.SettlePacks(w.ctx, w.lead(), desk.SettleIn{ProblemIn: w.in(w.from()), Rows: []record.ID{w.packs}, Count: 2,
		Where: record.InStore, End: "repackaged"})
	require.NoError(t, err)
	view, err = w.Hold(w.lead(), w.problem)
	require.NoError(t, err)
	require.Equal(t, []desk.HoldAt{{Where: record.Issued, Count: 1}}, view.HoldList.Rows[0].At)
	require.Equal(t, 2, view.HoldList.Places[2].Settled)

	_, err = w.LocatePacks(w.ctx, w.lead(), desk.LocateIn{ProblemIn: w.in(w.from()), Rows: []record.ID{first}, Count: 9, Where: record.OnCart})
	require.Equal(t, fault.Invalid, fault.CodeOf(err), "so many were never counted")
	_, err = w.LocatePacks(w.ctx, w.lead(), desk.LocateIn{ProblemIn: w.in(w.from()), Rows: []record.ID{first}, Where: "roof"})
	require.Equal(t, fault.Invalid, fault.CodeOf(err))
}
