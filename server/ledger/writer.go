package ledger

import (
	"errors"
	"fmt"
	"iter"
	"runtime/debug"
	"strings"
	"time"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/sys/unix"

	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// writer is the one goroutine that stores records. All but stopped is its own.
type writer struct {
	stopped chan struct{}
	group   *group
	dirty   map[record.Subject]struct{} // changed since the last snapshot
	snapped record.Seq                  // size at the last snapshot
}

// write serves groups until the ledger is closed.
func (l *Ledger) write() {
	defer close(l.writer.stopped)
	for l.serve(l.queue.group()) {
	}
}

// serve decides, stores and answers one group, and reports whether there was
// one.
func (l *Ledger) serve(items iter.Seq[*item]) bool {
	g := l.writer.group
	g.reset(l)
	err := l.stage(g, items)
	began := time.Now()
	if err == nil && len(g.ends) > 0 {
		err = l.commit(g)
	}
	took := time.Since(began)
	for _, it := range g.items {
		if err != nil {
			it.receipt, it.err = Receipt{}, err
		}
		it.receipt.Size = l.now.tree.Size()
		close(it.done)
	}
	l.queue.report(took)
	l.tallyGroup(g, took, err)
	return len(g.items) > 0
}

// stage takes items into a group. An error is the answer to all of them, and
// there is one only if nothing is right any more.
func (l *Ledger) stage(g *group, items iter.Seq[*item]) (err error) {
	defer func() {
		if p := recover(); p != nil { // evolve must not fail
			err = l.stop(fmt.Errorf("stage panicked: %v\n%s", p, debug.Stack()))
		}
	}()
	for it := range items {
		g.items = append(g.items, it)
		if l.broken.Load() == nil {
			g.stage(it)
		}
		if len(g.lines) >= maxBytes {
			break
		}
	}
	if broken := l.broken.Load(); broken != nil {
		return broken
	}
	return nil
}

// commit stores a group and makes it the state.
func (l *Ledger) commit(g *group) error {
	g.snap = l.snapshotDue(g)
	err := l.update(g.put)
	if fault := (*fault.Error)(nil); err != nil && !errors.As(err, &fault) {
		err = l.stop(err) // memory and store disagree
	}
	if err == nil {
		l.publish(g)
		l.afterCommit(g)
	}
	return err
}

// update changes the store in one transaction. An error of f is returned as it
// is; it changes nothing. Nor does a full disk. After any other error nobody
// knows what the disk holds, and the ledger stops.
func (l *Ledger) update(f func(tx *bolt.Tx) error) (err error) {
	l.updating.Lock()
	defer l.updating.Unlock()
	if broken := l.broken.Load(); broken != nil {
		return broken
	}
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = l.stop(fmt.Errorf("commit panicked: %v", p))
		}
	}()
	if err := l.file.check(); err != nil {
		return l.stop(err)
	}
	var refused error
	var number int
	err = l.db.Update(func(tx *bolt.Tx) error {
		number = tx.ID()
		refused = f(tx)
		return refused
	})
	l.tally.settle(err == nil)
	switch {
	case err == nil || refused != nil:
		return refused
	case noRoom(err) && l.unchanged(number):
		return fault.Wrap(err, fault.Full, "The disk of the server is full or read-only. "+
			"Nothing was stored. Tell the administrator, then send it again.")
	}
	return l.stop(err)
}

// unchanged reports whether a transaction that failed has left no trace.
func (l *Ledger) unchanged(failed int) bool {
	last := failed
	err := l.view(func(tx *bolt.Tx) error {
		last = tx.ID()
		return nil
	})
	return err == nil && last == failed-1
}

// stop ends all storing, once, and leaves a mark for the next start.
func (l *Ledger) stop(cause error) error {
	broken := fault.Wrap(cause, fault.NotConfirmed, "Not confirmed: the server cannot tell "+
		"whether this was stored. It starts again; then sending it once more is safe.")
	if !l.broken.CompareAndSwap(nil, broken) {
		return l.broken.Load()
	}
	mark := []byte("A commit ended in doubt: " + cause.Error() + "\n")
	if err := durable.WriteFile(l.o.Dir, suspectFile, mark); err != nil {
		cause = errors.Join(cause, fmt.Errorf("mark store as suspect: %w", err))
	}
	go l.o.Fail(cause)
	return broken
}

// noRoom is durable.NoRoom for the errors of bbolt, which turns one of growing
// the file into text.
func noRoom(err error) bool {
	if durable.NoRoom(err) {
		return true
	}
	text, ok := strings.CutPrefix(err.Error(), "file resize error: ")
	if !ok {
		return false
	}
	for _, number := range []unix.Errno{unix.ENOSPC, unix.EDQUOT, unix.EFBIG, unix.EROFS} {
		if strings.HasSuffix(text, number.Error()) {
			return true
		}
	}
	return false
}
