package desk_test

import (
	"context"
	"maps"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
)

// What the methods of this page and of those about whom to tell ask for.
func init() {
	maps.Copy(needs, map[string]string{"Route": "SetRoute", "Hooks": "ManageHooks", "Outbox": "Outbox"})
	unwritten = append(unwritten, "RenewSecret", "TryHook")
	open = append(open, "NoteByLink")
}

func makePoster(w *workplace) {
	_, err := w.MakePoster(w.ctx, w.lead(), w.from())
	require.NoError(w.t, err)
	view, err := w.Poster(w.lead())
	require.NoError(w.t, err)
	w.poster = view.Code
}

// leaveReport leaves a report of a channel on a pack of sealer 2 in the inbox.
func leaveReport(w *workplace) {
	makePoster(w)
	w.leave(desk.FoundIn{Kind: record.Channel, Number: "2", SealedOn: "2026-01-13", Where: record.AtTheatre, Used: "no",
		Reach: "room 4", Note: "near the corner"})
}

func (w *workplace) leave(in desk.FoundIn) desk.FoundDone {
	w.t.Helper()
	w.now = w.now.Add(time.Second)
	in.ID, in.Poster = w.NewID(), w.poster
	done, err := w.Found(w.ctx, in)
	require.NoError(w.t, err)
	inbox, err := w.FoundInbox(w.lead())
	require.NoError(w.t, err)
	w.left = inbox.Reports[len(inbox.Reports)-1].Report
	return done
}

func (w *workplace) standing() record.State {
	w.t.Helper()
	page, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(w.t, err)
	return page.Standing.State
}

func TestAReportFromElsewhereStopsNothingUntilSomebodyTakesIt(t *testing.T) {
	w := newWorkplace(t)
	leaveReport(w)
	require.Equal(t, record.Ready, w.standing())
	_, err := w.TakeFound(w.ctx, w.staff[record.Technician], desk.TakeFoundIn{Report: w.left})
	require.NoError(t, err)
	require.Equal(t, record.Ready, w.standing(), "to take it is not yet to believe it")

	view, err := w.FoundReport(w.staff[record.Technician], w.left)
	require.NoError(t, err)
	require.True(t, view.Mine)
	require.Len(t, view.Proposed, 1)
	require.Equal(t, w.code, view.Proposed[0].Code)

	in := desk.RecordFoundIn{Report: w.left, Sealer: w.code}
	in.From, in.Kind, in.SealedAt, in.Found = w.from(), record.Channel, "2026-01-13", record.AtTheatre
	done, err := w.RecordFound(w.ctx, w.staff[record.Technician], in)
	require.NoError(t, err)
	require.False(t, done.Problem.IsZero())
	require.Equal(t, record.OutOfService, w.standing(), "sealed on the day of the last good check")
	inbox, err := w.FoundInbox(w.lead())
	require.NoError(t, err)
	require.Empty(t, inbox.Reports)

	problem, err := w.Problem(w.lead(), done.Problem)
	require.NoError(t, err)
	require.Contains(t, problem.Lines[0].Note, "room 4")
}

func TestAPackSealedBeforeTheLastGoodCheckAsksForACheckAtAllPlaces(t *testing.T) {
	w := newWorkplace(t)
	leaveReport(w)
	in := desk.RecordFoundIn{Report: w.left, Sealer: w.code}
	in.From, in.Kind, in.SealedAt, in.Found = w.from(), record.Channel, "2026-01-05", record.AtStore
	_, err := w.RecordFound(w.ctx, w.lead(), in)
	require.NoError(t, err)
	require.Equal(t, record.CheckDue, w.standing())
}

func TestOfTwoWhoTakeAReportTheSecondIsToldWhoHasIt(t *testing.T) {
	w := newWorkplace(t)
	leaveReport(w)
	_, err := w.TakeFound(w.ctx, w.staff[record.Technician], desk.TakeFoundIn{Report: w.left})
	require.NoError(t, err)
	_, err = w.TakeFound(w.ctx, w.lead(), desk.TakeFoundIn{Report: w.left})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	require.ErrorContains(t, err, "A technician has it since")
	_, err = w.NotOurs(w.ctx, w.lead(), desk.NotOursIn{From: w.from(), Report: w.left, Why: "not ours"})
	require.Equal(t, fault.Stale, fault.CodeOf(err))

	_, err = w.TakeFound(w.ctx, w.lead(), desk.TakeFoundIn{Report: w.left, Over: true})
	require.NoError(t, err, "a lead takes it over when the shift has ended")
	_, err = w.TakeFound(w.ctx, w.staff[record.Technician], desk.TakeFoundIn{Report: w.left, Over: true})
	require.Equal(t, fault.Stale, fault.CodeOf(err), "nobody but a lead takes over")
}

func TestAReportThatIsNotOursLeavesTheInboxWithTheReason(t *testing.T) {
	w := newWorkplace(t)
	leaveReport(w)
	_, err := w.NotOurs(w.ctx, w.lead(), desk.NotOursIn{From: w.from(), Report: w.left})
	require.Equal(t, fault.Invalid, fault.CodeOf(err), "without a reason")
	size := w.Size()
	_, err = w.NotOurs(w.ctx, w.lead(), desk.NotOursIn{From: w.from(), Report: w.left, Why: "another hospital"})
	require.NoError(t, err)
	require.Equal(t, size+1, w.Size())
	_, err = w.FoundReport(w.lead(), w.left)
	require.Equal(t, fault.Gone, fault.CodeOf(err))
}

func TestUnknownReplacedAndMistypedPostersLookAlike(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	old := w.poster
	makePoster(w)
	require.NotEqual(t, old, w.poster)
	var said []string
	for _, code := range []string{old, "K7QM3XK", "K7QM3XX", "", w.code, "../" + strings.Repeat("Z", 500)} {
		_, err := w.PosterOf(code)
		require.Equal(t, fault.Unknown, fault.CodeOf(err), code)
		said = append(said, err.Error())
		_, err = w.Found(w.ctx, desk.FoundIn{Poster: code, Kind: record.Channel})
		said = append(said, err.Error())
	}
	for _, s := range said {
		require.Equal(t, said[0], s)
	}
	_, err := w.PosterOf(strings.ToLower(w.poster[:4] + "-" + w.poster[4:]))
	require.NoError(t, err, "as a person types it")
}

func TestTwentyReportsAnHourAreTakenFromAPosterAndTheLeadsAreMailedOnce(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	size := w.Size()
	for range 20 {
		w.leave(desk.FoundIn{Kind: record.Tear})
	}
	require.Equal(t, size+1, w.Size(), "one record that it rang")
	_, err := w.Found(w.ctx, desk.FoundIn{ID: w.NewID(), Poster: w.poster, Kind: record.Tear})
	require.Equal(t, fault.TooMany, fault.CodeOf(err))
	wait, ok := people.RetryAfter(err)
	require.True(t, ok)
	w.now = w.now.Add(wait)
	w.leave(desk.FoundIn{Kind: record.Tear})
	require.Equal(t, size+2, w.Size(), "and once in the next hour")
}

func TestAReportSentTwiceIsOneReport(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	in := desk.FoundIn{ID: w.NewID(), Poster: w.poster, Kind: record.Tear}
	for range 2 {
		_, err := w.Found(w.ctx, in)
		require.NoError(t, err)
	}
	inbox, err := w.FoundInbox(w.lead())
	require.NoError(t, err)
	require.Len(t, inbox.Reports, 1)
}

func TestAPhotographOfAFinderFollowsTheReportAndNeverHoldsItUp(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	b, err := os.ReadFile("../../testdata/photos/rotated.jpg")
	require.NoError(t, err)
	require.Equal(t, "unsupported", w.leave(desk.FoundIn{Kind: record.Tear, Photo: []byte("no photograph")}).Photo)
	done := w.leave(desk.FoundIn{Kind: record.Channel, Number: "2", Photo: b})
	require.Contains(t, []string{"kept", "blurred"}, done.Photo)
	shown, err := w.FoundPhotograph(w.lead(), w.left)
	require.NoError(t, err)
	in := desk.RecordFoundIn{Report: w.left, Sealer: w.code}
	in.From, in.Kind = w.from(), record.Channel
	recorded, err := w.RecordFound(w.ctx, w.lead(), in)
	require.NoError(t, err)
	problem, err := w.Problem(w.lead(), recorded.Problem)
	require.NoError(t, err)
	require.Len(t, problem.Problem.Photos, 1)
	kept, err := w.Photograph(w.lead(), problem.Problem.Photos[0].Record)
	require.NoError(t, err)
	require.Equal(t, shown, kept)
}

func TestAReportRingsOnOpenPages(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	changed, stop := w.Changes()
	defer stop()
	w.leave(desk.FoundIn{Kind: record.Tear}) // the first of the hour is a record, too
	drained(changed)
	w.leave(desk.FoundIn{Kind: record.Tear})
	ctx, cancel := context.WithTimeout(w.ctx, 10*time.Second)
	defer cancel()
	select {
	case <-changed:
	case <-ctx.Done():
		t.Fatal("no signal")
	}
}

// drained waits until a channel has nothing more to say for a moment.
func drained(c <-chan struct{}) {
	for {
		select {
		case <-c:
		case <-time.After(200 * time.Millisecond):
			return
		}
	}
}

func TestWhatTheFormDoesNotOfferIsRefused(t *testing.T) {
	w := newWorkplace(t)
	makePoster(w)
	for field, in := range map[string]desk.FoundIn{
		"kind":      {Kind: "gremlin"},
		"whose":     {Kind: record.Tear, Whose: "mine"},
		"where":     {Kind: record.Tear, Where: "moon"},
		"used":      {Kind: record.Tear, Used: "maybe"},
		"number":    {Kind: record.Tear, Number: strings.Repeat("2", 121)},
		"sealed_on": {Kind: record.Tear, SealedOn: "yesterday"},
		"note":      {Kind: record.Tear, Note: strings.Repeat("a", 2001)},
	} {
		in.Poster = w.poster
		_, err := w.Found(w.ctx, in)
		require.Equal(t, fault.Invalid, fault.CodeOf(err), field)
	}
}
