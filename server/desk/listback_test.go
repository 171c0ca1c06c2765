package desk_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// importList takes a list in; pouch is the name of the column of the pouch.
func (w *workplace) importList(text, pouch string) desk.Done {
	w.t.Helper()
	file, err := w.StorePackFile(w.ctx, w.lead(), strings.NewReader(text))
	require.NoError(w.t, err)
	done, err := w.ImportPacks(w.ctx, w.lead(), desk.PackListIn{From: w.from(), File: file.SHA256, Sealer: "Sealer", Date: "Sealed",
		Pouch: pouch, Order: "ymd", Which: record.TimeSealed, Separator: ","})
	require.NoError(w.t, err)
	w.list = done.Seq
	return done
}

func (w *workplace) takeBack() error {
	_, err := w.TakeListBack(w.ctx, w.lead(), desk.UnlistIn{From: w.from(), List: w.list, Why: "the column of printing was read"})
	return err
}

func (w *workplace) hold() *desk.HoldSheet {
	w.t.Helper()
	sheet, err := w.Hold(w.lead(), w.problem)
	require.NoError(w.t, err)
	return sheet
}

func TestAListThatWasTakenBackIsOnNoHoldAnyMoreAndMayComeInAgain(t *testing.T) {
	const list = "Sealer,Sealed\n2,2026-01-13 07:08\n2,2026-01-13 07:09\n"
	w := newWorkplace(t)
	w.goWrong()
	w.importList(list, "")
	require.Equal(t, 5, w.hold().HoldList.Total, "three of the pack log, two of the list")

	require.Equal(t, fault.Invalid, fault.CodeOf(func() error {
		_, err := w.TakeListBack(w.ctx, w.lead(), desk.UnlistIn{From: w.from(), List: w.list, Why: " "})
		return err
	}()), "a reason is asked for")
	require.NoError(t, w.takeBack())
	require.Equal(t, 3, w.hold().HoldList.Total)
	require.Equal(t, fault.Stale, fault.CodeOf(w.takeBack()), "once is enough")

	view, err := w.PackList(w.lead(), w.list)
	require.NoError(t, err)
	require.NotNil(t, view.Back)
	require.Equal(t, "the column of printing was read", view.Back.Why)
	require.Equal(t, "V. Costa", view.Back.By)

	require.Equal(t, 1, w.importList(list, "").Count, "the same file counts as new")
	require.Equal(t, 5, w.hold().HoldList.Total)
}

// What was said of packs that are on no list any more must not make others count
// as settled.
func TestPacksOfAListThatWasTakenBackSettleNoneOfTheOthers(t *testing.T) {
	w := newWorkplace(t)
	w.goWrong()
	w.importList("Sealer,Sealed\n2,2026-01-13 07:08\n2,2026-01-13 07:09\n2,2026-01-13 07:10\n", "")
	var rows []record.ID
	for _, r := range w.hold().HoldList.Rows {
		if r.Listed {
			rows = append(rows, r.ID)
		}
	}
	require.Len(t, rows, 3)
	_, err := w.SettlePacks(w.ctx, w.lead(), desk.SettleIn{ProblemIn: w.in(w.from()), Rows: rows, End: "repackaged"})
	require.NoError(t, err)
	require.Equal(t, 3, w.hold().HoldList.Left)
	require.NoError(t, w.takeBack())
	require.Equal(t, 3, w.hold().HoldList.Left, "those of the pack log wait as before")
	_, err = w.FinishPacks(w.ctx, w.lead(), desk.FinishIn{ProblemIn: w.in(w.from())})
	require.Equal(t, fault.Stale, fault.CodeOf(err))

	_, err = w.SettlePacks(w.ctx, w.lead(), desk.SettleIn{ProblemIn: w.in(w.from()), Packs: w.packs, Count: 3, End: "repackaged"})
	require.NoError(t, err, "and can be settled")
	require.Zero(t, w.hold().HoldList.Left)
}

func TestALotCountsThePacksOfListsToo(t *testing.T) {
	w := newWorkplace(t)
	w.now = w.now.Add(time.Minute)
	done, err := w.ReportBadSeal(w.ctx, w.lead(), desk.BadSealIn{From: w.from(), Code: w.code, Kind: record.Channel, Pouch: w.paper,
		Lot: "L-5", Whose: "maker"})
	require.NoError(t, err)
	w.now = w.now.Add(20 * time.Minute)
	// One before the lot was first named, two after, one of another pouch.
	w.importList("Sealer,Sealed,Pouch\n2,2026-01-12 08:00,Paper/film 20 cm\n2,2026-01-13 07:15,Paper/film 20 cm\n"+
		"2,2026-01-13 07:16,Paper/film 20 cm\n2,2026-01-13 07:16,Gusset\n", "Pouch")
	lot, err := w.Lot(w.lead(), done.Problem)
	require.NoError(t, err)
	require.Equal(t, []int{2, 2}, []int{lot.Packs, lot.Listed})
	require.NoError(t, w.takeBack())
	lot, err = w.Lot(w.lead(), done.Problem)
	require.NoError(t, err)
	require.Zero(t, lot.Packs)
}
