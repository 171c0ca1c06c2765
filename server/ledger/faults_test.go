package ledger

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"
	"golang.org/x/sys/unix"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// ending is how a call that reports a failure ends on the disk.
type ending int

const (
	notDone ending = iota
	halfDone
	done
)

// faultyStore makes the calls of a store's commits fail. It reaches into bbolt
// for that: the store has no door for it, and should not have one.
type faultyStore struct {
	write *func(b []byte, off int64) (int, error)
	file  **os.File
	real  *os.File
}

func inside[T any](db *bolt.DB, path ...string) *T {
	v := reflect.ValueOf(db).Elem()
	for _, name := range path {
		v = v.FieldByName(name)
	}
	return (*T)(unsafe.Pointer(v.UnsafeAddr()))
}

func faulty(l *Ledger) *faultyStore {
	file := inside[*os.File](l.db, "file")
	return &faultyStore{inside[func([]byte, int64) (int, error)](l.db, "ops", "writeAt"), file, *file}
}

// failWrite makes write number n of the next commits fail, and reports whether
// it has.
func (f *faultyStore) failWrite(n int, number unix.Errno, end ending) (fired *bool) {
	write, fired := *f.write, new(bool)
	*f.write = func(b []byte, off int64) (int, error) {
		if n--; n != -1 {
			return write(b, off)
		}
		*fired = true
		for _, part := range [][]byte{notDone: nil, halfDone: b[:len(b)/2], done: b}[end : end+1] {
			if _, err := write(part, off); err != nil {
				return 0, err
			}
		}
		return 0, unixWrite(number)
	}
	return fired
}

// unixWrite is the error of a write, as package os makes it.
func unixWrite(number unix.Errno) error {
	return &fs.PathError{Op: "write", Path: "ledger.db", Err: number}
}

// failSync makes the first sync of the next commit fail or, after the meta page
// was written, the second. A pipe cannot be synced (EINVAL).
func (f *faultyStore) failSync(t *testing.T, second bool) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	t.Cleanup(func() { _ = errors.Join(r.Close(), w.Close()) })
	write := *f.write
	*f.write = func(b []byte, off int64) (int, error) {
		if second == (off < 2*4096) {
			*f.file = w
		}
		return write(b, off)
	}
}

// trial is a folder with some records, one of them acknowledged last.
type trial struct {
	t *testing.T
	o Options
	l *Ledger
	*faultyStore
	failed chan error
}

func newTrial(t *testing.T) *trial {
	tr := &trial{t: t, failed: make(chan error, 1)}
	tr.o = Options{Dir: t.TempDir(), Fold: benchFold(), Fail: func(err error) { tr.failed <- err }}
	tr.start()
	for n := range 5 {
		require.NoError(t, tr.append(n))
	}
	return tr
}

func (tr *trial) start() {
	l, err := Open(tr.o)
	require.NoError(tr.t, err)
	tr.l, tr.faultyStore = l, faulty(l)
}

func (tr *trial) append(n int) error {
	r := benchCheck(time.UnixMilli(1768305600000), n)
	r.ID = record.ID{1, byte(n)}
	_, err := tr.l.Append(context.Background(), Command{ID: r.ID, Content: &r,
		Decide: func(record.View, record.Time) ([]Draft, error) {
			return []Draft{{Record: r, Outbox: []Message{{To: r.By}}}}, nil
		}})
	return err
}

// ends checks what has to hold however an append failed: what was acknowledged
// is there, the failed one is stored once when it is sent again, all is sound.
func (tr *trial) ends(err error) {
	t := tr.t
	require.Error(t, err)
	if fault.Is(err, fault.NotConfirmed) {
		require.Error(t, <-tr.failed)
		require.True(t, fault.Is(tr.append(8), fault.NotConfirmed), "nothing more is acknowledged")
		require.NoError(t, tr.l.Close())
		require.FileExists(t, filepath.Join(tr.o.Dir, suspectFile))
		_ = tr.real.Close() // the process would have ended here
		tr.start()
	} else {
		require.Equal(t, fault.Full, fault.CodeOf(err))
		require.EqualValues(t, 5, tr.l.Size())
	}
	require.NoError(t, tr.append(7))
	require.EqualValues(t, 6, tr.l.Size())
	for n := range 5 {
		_, found, err := tr.l.Find(record.ID{1, byte(n)})
		require.NoError(t, err)
		require.True(t, found)
	}
	require.NoError(t, tr.l.Close())
	report, err := Verify(Verification{Dir: tr.o.Dir, Fold: tr.o.Fold})
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
}

// Every write of an append fails in turn, with every number and every ending.
func TestAFailedWriteLosesNothingThatWasAcknowledged(t *testing.T) {
	for _, number := range []unix.Errno{unix.EIO, unix.ENOSPC, unix.EROFS, unix.EDQUOT} {
		for end := notDone; end <= done; end++ {
			writes := 0
			for ; ; writes++ {
				tr := newTrial(t)
				fired := tr.failWrite(writes, number, end)
				err := tr.append(7)
				if !*fired {
					require.NoError(t, err)
					break // an append has no more writes
				}
				if number == unix.EIO {
					require.True(t, fault.Is(err, fault.NotConfirmed), "%v", err)
				}
				tr.ends(err)
			}
			require.GreaterOrEqual(t, writes, 2, "pages and the meta page")
		}
	}
}

func TestAFailedSyncIsInDoubtAndStopsTheProcess(t *testing.T) {
	for _, second := range []bool{false, true} {
		tr := newTrial(t)
		tr.failSync(t, second)
		err := tr.append(7)
		require.Equal(t, fault.NotConfirmed, fault.CodeOf(err))
		tr.ends(err)
	}
}

func TestAFileThatCannotGrowStopsTheProcessUnlessItIsForLackOfRoom(t *testing.T) {
	tr := newTrial(t)
	require.NoError(t, tr.l.Close())
	in, err := inspect(filepath.Join(tr.o.Dir, ledgerFile))
	require.NoError(t, err)
	// So that the next append has to make the file longer.
	require.NoError(t, os.Truncate(filepath.Join(tr.o.Dir, ledgerFile), in.newest.pages*4096))
	tr.start()
	r, w, err := os.Pipe() // which has no length (EINVAL)
	require.NoError(t, err)
	defer func() { _ = errors.Join(r.Close(), w.Close()) }()
	*tr.file = w
	err = nil
	n := 7
	for ; err == nil; n++ {
		err = tr.append(n)
	}
	require.Equal(t, 8, n, "the first append had to grow the file")
	tr.ends(err)

	for _, number := range []unix.Errno{unix.ENOSPC, unix.EDQUOT, unix.EFBIG, unix.EROFS} {
		cause := &fs.PathError{Op: "truncate", Path: "ledger.db", Err: number}
		require.True(t, noRoom(fmt.Errorf("file resize error: %s", cause))) // as bbolt has it
		require.False(t, noRoom(fmt.Errorf("file sync error: %s", cause)))
		require.False(t, noRoom(number), "fdatasync reports a bare number")
	}
}

// A group that fails answers nobody as if it had not: refusals that rested on
// it, and repetitions, too.
func TestAFailedGroupFailsForAllInIt(t *testing.T) {
	tr := newTrial(t)
	g := newGroup()
	ask := func(n byte, decide func(record.View, record.Time) ([]Draft, error)) *item {
		return &item{Command: Command{ID: record.ID{9, n}, Decide: decide}, done: make(chan struct{})}
	}
	r := benchCheck(time.UnixMilli(1768305600000), 1)
	refused := errors.New("no")
	store := func(record.View, record.Time) ([]Draft, error) { return []Draft{{Record: r}}, nil }
	items := []*item{ask(1, store), ask(1, store), ask(2,
		func(v record.View, _ record.Time) ([]Draft, error) {
			require.Equal(t, 2, v.Value(r.Subject).(*benchState).Checks, "rests on the first item")
			return nil, refused
		})}
	fired := tr.failWrite(0, unix.ENOSPC, notDone)
	close(tr.l.queue.done)
	<-tr.l.writer.stopped // the test is the writer now
	tr.l.writer.group = g
	require.True(t, tr.l.serve(slices.Values(items)))
	require.True(t, *fired)
	for _, it := range items {
		require.Equal(t, fault.Full, fault.CodeOf(it.err))
		require.Zero(t, it.receipt.Count)
	}
	require.EqualValues(t, 5, tr.l.Size())
}
