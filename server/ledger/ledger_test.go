package ledger_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// count is the state of the tests' own fold: how many records a subject has,
// and the last of them.
type count struct {
	N    int
	Last record.ID
}

func countFold() ledger.Fold {
	return ledger.Fold{
		Shape: 1,
		Evolve: func(s record.Stage, r *record.Record) {
			c, _ := s.Value(r.Subject).(count)
			s.Set(r.Subject, count{c.N + 1, r.ID})
		},
		Decode: func(_ record.Type, b []byte) (any, error) {
			var c count
			err := json.Unmarshal(b, &c)
			return c, err
		},
	}
}

// epoch is when the tests' clock starts.
var epoch = time.Date(2026, 1, 13, 12, 0, 0, 0, time.UTC)

func options(dir string) ledger.Options {
	return ledger.Options{Dir: dir, Fold: countFold(), Recent: 64}
}

func open(t testing.TB, o ledger.Options) *ledger.Ledger {
	t.Helper()
	l, err := ledger.Open(o)
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, l.Close())
		verify(t, o)
	})
	return l
}

// verify is the oracle of every test that writes.
func verify(t testing.TB, o ledger.Options) ledger.Report {
	t.Helper()
	report, err := ledger.Verify(ledger.Verification{Dir: o.Dir, Fold: o.Fold})
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
	return report
}

func id(n int) record.ID { return record.ID{0xaa, 15: 1}.Derive(fmt.Sprint(n)) }

func sealer(n int) record.Subject { return record.Subject{Type: record.Sealer, ID: id(-n - 1)} }

// note is a record of sealer n.
func note(t testing.TB, n int, text string) record.Record {
	t.Helper()
	r, err := record.New(&record.Changeover{Pouch: id(len(text)), Minutes: len(text)})
	require.NoError(t, err)
	r.Subject, r.By, r.Via, r.Meaning = sealer(n), id(-99), record.ViaPIN, record.Did
	r.Happened = record.Moment(record.TimeOf(epoch))
	return r
}

func always(drafts ...ledger.Draft) func(record.View, record.Time) ([]ledger.Draft, error) {
	return func(record.View, record.Time) ([]ledger.Draft, error) {
		return append([]ledger.Draft(nil), drafts...), nil
	}
}

// command records r under the n-th id.
func command(n int, r record.Record) ledger.Command {
	return ledger.Command{ID: id(n), Content: &r, Decide: always(ledger.Draft{Record: r})}
}

func add(t testing.TB, l *ledger.Ledger, n, sealer int) ledger.Receipt {
	t.Helper()
	return appended(t, l, command(n, note(t, sealer, "x")))
}

func appended(t testing.TB, l *ledger.Ledger, c ledger.Command) ledger.Receipt {
	t.Helper()
	got, err := l.Append(context.Background(), c)
	require.NoError(t, err)
	return got
}

func value(l *ledger.Ledger, s record.Subject) (c count) {
	l.View(func(v record.View) { c, _ = v.Value(s).(count) })
	return c
}

func TestWhatWasAppendedIsThereAfterAnotherStart(t *testing.T) {
	o := options(t.TempDir())
	l, err := ledger.Open(o)
	require.NoError(t, err)
	for n := range 200 {
		got := add(t, l, n, n%3)
		require.Equal(t, record.Seq(n), got.First)
		require.Equal(t, 1, got.Count)
		require.EqualValues(t, n+1, got.Size)
	}
	size, root := l.Root()
	require.EqualValues(t, 200, size)
	require.NoError(t, l.Close())

	l = open(t, o)
	again, rootAgain := l.Root()
	require.Equal(t, size, again)
	require.Equal(t, root, rootAgain)
	require.Equal(t, count{67, id(199)}, value(l, sealer(1)))
	require.Equal(t, record.Seq(199), l.Head(sealer(1)))
	chained := 0
	for r, err := range l.Chain(sealer(1)) {
		require.NoError(t, err)
		require.Equal(t, sealer(1), r.Subject)
		chained++
	}
	require.Equal(t, 67, chained)
	r, found, err := l.Find(id(77))
	require.NoError(t, err)
	require.True(t, found)
	require.Equal(t, record.Seq(77), r.Seq)
	require.Equal(t, record.Seq(200), add(t, l, 200, 0).First)
}

func TestTheSameIDIsStoredOnceForManyCallers(t *testing.T) {
	l := open(t, options(t.TempDir()))
	var wait sync.WaitGroup
	receipts := make([]ledger.Receipt, 64)
	for i := range receipts {
		wait.Go(func() { receipts[i] = add(t, l, 1, 1) })
	}
	wait.Wait()
	require.EqualValues(t, 1, l.Size())
	first := 0
	for _, r := range receipts {
		require.Equal(t, record.Seq(0), r.First)
		require.Equal(t, 1, r.Count)
		if !r.Repeat {
			first++
		}
	}
	require.Equal(t, 1, first)
}

func TestOtherContentUnderTheSameIDIsAConflict(t *testing.T) {
	l := open(t, options(t.TempDir()))
	add(t, l, 1, 1)
	_, err := l.Append(context.Background(), command(1, note(t, 1, "other")))
	require.Equal(t, fault.Conflict, fault.CodeOf(err))
	require.EqualValues(t, 1, l.Size())
}

func TestSeveralRecordsOfOneCommandFollowEachOther(t *testing.T) {
	l := open(t, options(t.TempDir()))
	add(t, l, 0, 0)
	c := command(1, note(t, 1, "a"))
	c.Decide = always(ledger.Draft{Record: note(t, 1, "a")}, ledger.Draft{Record: note(t, 2, "b")},
		ledger.Draft{Record: note(t, 1, "c")})
	want := ledger.Receipt{First: 1, Count: 3, Size: 4}
	for _, repeat := range []bool{false, true} {
		got, err := l.Append(context.Background(), c)
		require.NoError(t, err)
		want.At, want.Repeat = got.At, repeat
		require.Equal(t, want, got)
	}
	for i := range 3 {
		r, err := l.Read(record.Seq(1 + i))
		require.NoError(t, err)
		require.Equal(t, id(1).Nth(i), r.ID)
		require.Equal(t, i > 0, r.Of == id(1))
	}
	last, err := l.Read(3)
	require.NoError(t, err)
	require.Equal(t, record.Seq(1), last.Prev)
}

func TestARefusalAndAPanicStoreNothing(t *testing.T) {
	l := open(t, options(t.TempDir()))
	refused := errors.New("sealer is out of service")
	_, err := l.Append(context.Background(), ledger.Command{ID: id(1),
		Decide: func(record.View, record.Time) ([]ledger.Draft, error) { return nil, refused }})
	require.ErrorIs(t, err, refused)
	_, err = l.Append(context.Background(), ledger.Command{ID: id(2),
		Decide: func(record.View, record.Time) ([]ledger.Draft, error) { panic("ouch") }})
	require.Equal(t, fault.Internal, fault.CodeOf(err))
	got, err := l.Append(context.Background(), ledger.Command{ID: id(3), Decide: always()})
	require.NoError(t, err)
	require.Equal(t, record.None, got.First)
	require.Zero(t, l.Size())
	add(t, l, 1, 1)
}

func TestNowNeverGoesBackThoughTheClockDoes(t *testing.T) {
	o := options(t.TempDir())
	clock := epoch
	o.Clock = func() time.Time { return clock }
	l := open(t, o)
	var now record.Time
	step := func(n int, at time.Time) record.Time {
		clock = at
		c := command(n, note(t, 1, "x"))
		decide := c.Decide
		c.Decide = func(v record.View, given record.Time) ([]ledger.Draft, error) {
			now = given
			return decide(v, given)
		}
		got, err := l.Append(context.Background(), c)
		require.NoError(t, err)
		return got.At
	}
	require.Equal(t, record.TimeOf(epoch), step(1, epoch))
	back := epoch.Add(-time.Hour)
	require.Equal(t, record.TimeOf(back), step(2, back), "at is the clock's own reading")
	require.Equal(t, record.TimeOf(epoch), now)
	// An administrator says that the clock had run ahead.
	r, err := record.New(&record.ClockCorrected{Was: record.TimeOf(epoch)})
	require.NoError(t, err)
	r.Subject = record.TheSite
	_, err = l.Append(context.Background(), command(3, r))
	require.NoError(t, err)
	step(4, back.Add(time.Minute))
	require.Equal(t, record.TimeOf(back.Add(time.Minute)), now)
}

func TestADayIsARangeAndItsStraysStandApart(t *testing.T) {
	o := options(t.TempDir())
	l := open(t, o)
	dept, other := id(1000), id(1001)
	day := func(n int, dept record.ID, day, covers, arrived record.Date) {
		r := note(t, 1, "x")
		r.Dept, r.Day, r.Covers, r.Effect.Arrived = dept, day, covers, arrived
		_, err := l.Append(context.Background(), command(n, r))
		require.NoError(t, err)
	}
	day(0, dept, 10, 0, 0)
	day(1, dept, 10, 11, 0) // an early check
	day(2, other, 11, 0, 0)
	day(3, dept, 11, 0, 0)
	day(4, dept, 10, 0, 11) // late
	day(5, dept, 13, 0, 0)
	day(6, dept, 11, 0, 14) // late, and the first to arrive on its day
	want := func(d record.Date, from, to record.Seq, apart ...record.Seq) {
		t.Helper()
		gotFrom, gotTo := l.Day(dept, d)
		require.Equal(t, [2]record.Seq{from, to}, [2]record.Seq{gotFrom, gotTo})
		got, err := l.Apart(dept, d)
		require.NoError(t, err)
		require.Equal(t, apart, got)
	}
	check := func() {
		want(9, 0, 0)
		want(10, 0, 3, 4)
		want(11, 3, 5, 1, 6)
		want(12, 5, 5)
		want(13, 5, 6)
		want(14, 6, 7)
		want(15, 7, 7)
	}
	check()
	require.NoError(t, l.Close())
	l = open(t, o)
	check()
}

func TestMessagesWaitUntilTheyAreDone(t *testing.T) {
	l := open(t, options(t.TempDir()))
	c := command(1, note(t, 1, "x"))
	first := ledger.Message{Route: "seen", To: id(50)}
	second := ledger.Message{Route: "seen", To: id(51)}
	c.Decide = always(ledger.Draft{Record: note(t, 1, "x"), Outbox: []ledger.Message{first, second}})
	_, err := l.Append(context.Background(), c)
	require.NoError(t, err)
	pending, err := l.Pending(10)
	require.NoError(t, err)
	require.Len(t, pending, 2)
	require.Equal(t, ledger.Pending{Key: ledger.Key{Seq: 0, N: 1}, Message: second}, pending[1])

	require.NoError(t, l.Park("no answer", pending[0].Key))
	pending, err = l.Pending(10)
	require.NoError(t, err)
	require.Len(t, pending, 1)
	require.NoError(t, l.Done(pending[0].Key))
	require.NoError(t, l.Park("too late", pending[0].Key))
	parked, err := l.Parked(10)
	require.NoError(t, err)
	require.Equal(t, []ledger.Pending{{Message: first, Parked: "no answer"}}, parked)
	require.NoError(t, l.Resend(parked[0].Key))
	pending, err = l.Pending(10)
	require.NoError(t, err)
	require.Equal(t, []ledger.Pending{{Message: first}}, pending)
}

func TestWatchersHearOfACommit(t *testing.T) {
	l := open(t, options(t.TempDir()))
	signal, stop := l.Watch()
	add(t, l, 1, 1)
	<-signal
	stop()
	add(t, l, 2, 1)
	require.Empty(t, signal)
}

func TestASecondProcessIsKeptOut(t *testing.T) {
	o := options(t.TempDir())
	open(t, o)
	_, err := ledger.Open(o)
	require.Equal(t, fault.Busy, fault.CodeOf(err))
	require.ErrorContains(t, err, fmt.Sprintf("in use by process %d", os.Getpid()))
}

func TestADemoAndAHospitalDoNotMix(t *testing.T) {
	for _, demo := range []bool{true, false} {
		o := options(t.TempDir())
		o.Demo = demo
		l, err := ledger.Open(o)
		require.NoError(t, err)
		require.NoError(t, l.Close())
		o.Demo = !demo
		_, err = ledger.Open(o)
		require.Equal(t, fault.Forbidden, fault.CodeOf(err))
	}
}

func TestWithoutItsKeyALedgerOpensOnlyWhenToldSo(t *testing.T) {
	o := options(t.TempDir())
	l, err := ledger.Open(o)
	require.NoError(t, err)
	add(t, l, 1, 1)
	require.NoError(t, l.Close())
	require.NoError(t, os.RemoveAll(filepath.Join(o.Dir, "keys")))
	_, err = ledger.Open(o)
	require.ErrorContains(t, err, "-new-key")
	o.NewKey = true
	l = open(t, o)
	require.Len(t, l.Keys(), 2)
	require.EqualValues(t, 1, l.Size())
}

func TestAfterCloseNothingIsTaken(t *testing.T) {
	l, err := ledger.Open(options(t.TempDir()))
	require.NoError(t, err)
	require.NoError(t, l.Close())
	_, err = l.Append(context.Background(), command(1, note(t, 1, "x")))
	require.Equal(t, fault.Busy, fault.CodeOf(err))
	require.NoError(t, l.Close())
}

func TestTheStatusSaysHowFarEverythingIs(t *testing.T) {
	o := options(t.TempDir())
	o.Clock = func() time.Time { return epoch }
	l := open(t, o)
	add(t, l, 1, 1)
	s := l.Status()
	require.EqualValues(t, 1, s.Size)
	require.Equal(t, record.TimeOf(epoch), s.Latest)
	require.Positive(t, s.Bytes)
	require.LessOrEqual(t, s.Anchored, s.Size)
	require.NoError(t, s.Stopped)
}

// Whoever gives up waiting does not know; sending again under the same id tells.
func TestACallerThatGivesUpIsNotConfirmed(t *testing.T) {
	l := open(t, options(t.TempDir()))
	ctx, cancel := context.WithCancel(context.Background())
	c := command(1, note(t, 1, "x"))
	decide := c.Decide
	c.Decide = func(v record.View, now record.Time) ([]ledger.Draft, error) {
		cancel()
		<-ctx.Done()
		return decide(v, now)
	}
	_, err := l.Append(ctx, c)
	if err != nil { // both may be ready, then either is taken
		require.Equal(t, fault.NotConfirmed, fault.CodeOf(err))
	}
	require.Equal(t, record.Seq(0), add(t, l, 1, 1).First)
	require.EqualValues(t, 1, l.Size())
}

// What could not be read back would keep the ledger from ever starting again.
func TestARecordThatNobodyCouldReadIsNotStored(t *testing.T) {
	l := open(t, options(t.TempDir()))
	good, bad := note(t, 1, "x"), note(t, 1, "x")
	bad.Subject.Type = "jaw"
	c := command(1, good)
	c.Decide = always(ledger.Draft{Record: good}, ledger.Draft{Record: bad})
	_, err := l.Append(context.Background(), c)
	require.Equal(t, fault.Internal, fault.CodeOf(err))
	_, err = l.Append(context.Background(), ledger.Command{Decide: always()})
	require.Equal(t, fault.Invalid, fault.CodeOf(err))
	require.Zero(t, l.Size())
	require.Zero(t, value(l, sealer(1)))
}
