package ledger

import (
	"maps"

	"tidemark/server/proof"
	"tidemark/server/record"
)

// state is what the committed records have led to.
type state struct {
	subjects map[record.Subject]entry
	tree     proof.Frontier
	hashes   chunkTail    // stored hashes that do not fill a chunk yet
	ids      recent       // fingerprints of the newest records
	days     dayMarks     //
	lost     acceptedLoss // see AcceptLoss
	clock    record.Time  // the latest time that was given to a record
}

// entry is what is known of a subject.
type entry struct {
	value any        // nil if no record has set one
	head  record.Seq // its newest record, None if it has none
}

func (s *state) size() record.Seq { return record.Seq(s.tree.Size()) }

func (s *state) entry(of record.Subject) entry {
	if e, ok := s.subjects[of]; ok {
		return e
	}
	return entry{head: record.None}
}

// Value makes a state a record.View.
func (s *state) Value(of record.Subject) any { return s.subjects[of].value }

// Size tells how many records the view is of.
func (s *state) Size() int64 { return s.tree.Size() }

// View calls f with the state of all committed records. Values are immutable
// and may be kept; the view itself is good until f returns. The writer waits
// for f to return: look up, do not compute. F must not call the ledger: its
// lock, asked for twice, would wait for itself. The view has a method Size() int64.
func (l *Ledger) View(f func(record.View)) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	f(&l.now)
}

// Head returns the newest record of a subject, None if it has none.
func (l *Ledger) Head(s record.Subject) record.Seq {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.now.entry(s).head
}

// Size returns the number of records.
func (l *Ledger) Size() int64 {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.now.tree.Size()
}

// Root returns the number of records and the root of the tree over them.
func (l *Ledger) Root() (size int64, root [32]byte) {
	c := l.checkpoint()
	return c.Size, c.Root
}

func (l *Ledger) checkpoint() proof.Checkpoint {
	l.mu.RLock()
	tree := l.now.tree
	l.mu.RUnlock()
	return proof.Checkpoint{Origin: l.identity.Origin, Size: tree.Size(), Root: tree.Root()}
}

// publish makes a committed group the state.
func (l *Ledger) publish(g *group) {
	l.mu.Lock()
	maps.Copy(l.now.subjects, g.changed)
	l.now.tree = g.tree
	l.now.hashes = g.hashes
	l.now.ids.add(g.prints...)
	l.now.days.add(g.marks...)
	l.now.clock = g.clock
	l.mu.Unlock()
	l.watch.tell()
	l.anchor.tell()
}
