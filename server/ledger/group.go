package ledger

import (
	"fmt"
	"runtime/debug"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// group is what one commit will add, staged on top of the state. Dropping it
// leaves no trace. Its memory serves the next group.
type group struct {
	l       *Ledger
	items   []*item
	changed map[record.Subject]entry
	answers map[record.ID]*item // the items of this group that made records
	tree    proof.Frontier
	clock   record.Time

	lines  []byte // the records' lines, back to back
	ends   []int  // where each ends
	stored []proof.Hash
	hashes chunkTail // what of them fills no chunk, once they were put
	prints []uint64
	marks  []dayMark
	apart  []apartMark
	outbox []outboxRow
	snap   *snapshot // nil if none is due
}

// reset begins a group on the present state, which only the writer changes.
func (g *group) reset(l *Ledger) {
	clear(g.changed)
	clear(g.answers)
	clear(g.items) // let go of what was answered
	*g = group{l: l, items: g.items[:0], changed: g.changed, answers: g.answers, tree: l.now.tree,
		clock: l.now.clock, lines: g.lines[:0], ends: g.ends[:0], stored: g.stored[:0],
		prints: g.prints[:0], marks: g.marks[:0], apart: g.apart[:0], outbox: g.outbox[:0]}
}

func newGroup() *group {
	return &group{changed: map[record.Subject]entry{}, answers: map[record.ID]*item{}}
}

// stage decides an item on what stands so far and adds the records it makes.
// The item is not answered yet: what it rests on may still not come true.
func (g *group) stage(it *item) {
	known, err := g.known(it)
	if known || err != nil {
		it.err = err
		return
	}
	at := record.TimeOf(g.l.o.Clock())
	drafts, err := g.decide(it, max(at, g.clock))
	it.receipt, it.err = Receipt{First: record.None, At: at}, err
	if err != nil || len(drafts) == 0 {
		return
	}
	it.receipt.First, it.receipt.Count = record.Seq(g.tree.Size()), len(drafts)
	g.answers[it.ID] = it
	for i := range drafts {
		r := &drafts[i].Record
		r.ID, r.At = it.ID.Nth(i), at
		print := it.print
		if i > 0 {
			r.Of, print = it.ID, fingerprint(r.ID)
		}
		g.append(r, print, drafts[i].Outbox)
	}
}

func (g *group) decide(it *item, now record.Time) (drafts []Draft, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fault.Wrap(fmt.Errorf("decide panicked: %v\n%s", p, debug.Stack()),
				fault.Internal, "Something went wrong here. Nothing was stored.")
		}
	}()
	drafts, err = it.Decide(g, now)
	for i := range drafts {
		if bad := drafts[i].Record.Check(); bad != nil && err == nil {
			err = fault.Wrap(bad, fault.Internal, "Something went wrong here. Nothing was stored.")
		}
	}
	return drafts, err
}

// append stamps a record, adds it and applies it.
func (g *group) append(r *record.Record, print uint64, messages []Message) {
	e := g.entry(r.Subject)
	r.Seq, r.Prev = record.Seq(g.tree.Size()), e.head
	e.head = r.Seq
	g.changed[r.Subject] = e
	start := len(g.lines)
	g.lines = r.Append(g.lines)
	g.ends = append(g.ends, len(g.lines))
	g.stored = g.tree.Append(g.stored, g.lines[start:])
	g.prints = append(g.prints, print)
	g.mark(r)
	for n, m := range messages {
		g.outbox = append(g.outbox, outboxRow{Key{r.Seq, n}, m})
	}
	g.clock = clockAfter(g.clock, r)
	g.l.o.Fold.Evolve(g, r)
}

// clockAfter is the latest time given to a record: it never goes back, but for
// a record that says that the clock had run ahead.
func clockAfter(clock record.Time, r *record.Record) record.Time {
	if body, _ := r.Content(); body != nil {
		if _, ok := body.(*record.ClockCorrected); ok {
			return r.At
		}
	}
	return max(clock, r.At)
}

func (g *group) entry(of record.Subject) entry {
	if e, ok := g.changed[of]; ok {
		return e
	}
	return g.l.now.entry(of)
}

// Value makes a group a record.View.
func (g *group) Value(of record.Subject) any { return g.entry(of).value }

// Set makes a group a record.Stage.
func (g *group) Set(of record.Subject, value any) {
	e := g.entry(of)
	e.value = value
	g.changed[of] = e
}

func (g *group) from() record.Seq { return g.l.now.size() }

// line returns the bytes of the group's record i.
func (g *group) line(i int) []byte {
	if i == 0 {
		return g.lines[:g.ends[0]]
	}
	return g.lines[g.ends[i-1]:g.ends[i]]
}

// put writes the group into a transaction.
func (g *group) put(tx *bolt.Tx) error {
	records := growing(tx, inRecords)
	if n := next(records); n != int64(g.from()) {
		return fmt.Errorf("put records: the store holds %d, not %d", n, g.from())
	}
	for i := range g.ends {
		if err := records.Put(key(int64(g.from())+int64(i)), g.line(i)); err != nil {
			return fmt.Errorf("put record: %w", err)
		}
	}
	if err := g.putHashes(tx); err != nil {
		return err
	}
	if err := g.putIDs(tx); err != nil {
		return err
	}
	if err := g.putMarks(tx); err != nil {
		return err
	}
	if err := g.putOutbox(tx); err != nil {
		return err
	}
	return g.snap.put(tx)
}

func (g *group) putHashes(tx *bolt.Tx) error {
	s := &hashStore{growing(tx, inHashes), g.l.now.hashes}
	if err := (proof.Chunks{Store: s}).Put(g.l.now.tree.Stored(), g.stored); err != nil {
		return fmt.Errorf("put hashes: %w", err)
	}
	g.hashes = s.last
	return nil
}
