package ledger

import (
	"encoding/json"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/record"
)

// snapshotEvery is how many records a start has to replay at most.
const snapshotEvery = 4096

var metaSnapshot = []byte("snapshot")

// snapshotMeta says what the rows of the snapshot are.
type snapshotMeta struct {
	Size  record.Seq  `json:"size"`
	Shape int         `json:"shape"`
	Clock record.Time `json:"clock"`
}

// snapshot is the values that have changed since the one before.
type snapshot struct {
	meta snapshotMeta
	rows map[record.Subject][]byte
}

// snapshotDue takes a snapshot if a group makes one due, and returns nil if not.
func (l *Ledger) snapshotDue(g *group) *snapshot {
	size := record.Seq(g.tree.Size())
	if size-l.writer.snapped < snapshotEvery {
		return nil
	}
	l.writer.note(g)
	s, err := l.takeSnapshot(g, size, g.clock)
	if err != nil {
		l.o.Log.Error("take snapshot", "err", err)
		return nil
	}
	return s
}

// entries is what both a group and the state give.
type entries interface {
	entry(record.Subject) entry
}

func (l *Ledger) takeSnapshot(of entries, size record.Seq, clock record.Time) (*snapshot, error) {
	s := &snapshot{snapshotMeta{size, l.o.Fold.Shape, clock}, map[record.Subject][]byte{}}
	for subject := range l.writer.dirty {
		e := of.entry(subject)
		if e == (entry{head: record.None}) {
			continue // its first record was not stored after all
		}
		row, err := e.row()
		if err != nil {
			return nil, fmt.Errorf("take snapshot of %s: %w", subject, err)
		}
		s.rows[subject] = row
	}
	return s, nil
}

// row is what is stored of an entry.
func (e entry) row() ([]byte, error) {
	b := key(int64(e.head))
	if e.value == nil {
		return b, nil
	}
	value, err := json.Marshal(e.value)
	if err != nil {
		return nil, fmt.Errorf("encode value: %w", err)
	}
	return append(b, value...), nil
}

func (s *snapshot) put(tx *bolt.Tx) error {
	if s == nil {
		return nil
	}
	b := tx.Bucket(inSnapshot)
	for subject, row := range s.rows {
		if err := b.Put([]byte(subject.String()), row); err != nil {
			return fmt.Errorf("put snapshot of %s: %w", subject, err)
		}
	}
	return putJSON(tx, metaSnapshot, s.meta)
}

// afterCommit keeps account of what the next snapshot has to hold.
func (l *Ledger) afterCommit(g *group) {
	w := &l.writer
	if g.snap != nil {
		w.snapped = g.snap.meta.Size
		clear(w.dirty)
		l.forgetIDs()
		return
	}
	w.note(g)
}

// note keeps in mind which subjects the next snapshot has to hold.
func (w *writer) note(g *group) {
	for subject := range g.changed {
		w.dirty[subject] = struct{}{}
	}
}

// saveSnapshot stores a snapshot of the present state, if there is not one yet.
func (l *Ledger) saveSnapshot() error {
	if l.now.size() == l.writer.snapped {
		return nil
	}
	s, err := l.takeSnapshot(&l.now, l.now.size(), l.now.clock)
	if err != nil {
		return err
	}
	return l.storeSnapshot(s, s.put)
}

func (l *Ledger) storeSnapshot(s *snapshot, put func(*bolt.Tx) error) error {
	if err := l.update(put); err != nil {
		return err
	}
	l.writer.snapped = s.meta.Size
	clear(l.writer.dirty)
	return nil
}

// replaceSnapshot puts a whole one in the place of what may be of another shape.
func (l *Ledger) replaceSnapshot() error {
	s, err := l.takeSnapshot(&l.now, l.now.size(), l.now.clock)
	if err != nil {
		return err
	}
	return l.storeSnapshot(s, func(tx *bolt.Tx) error {
		if err := tx.DeleteBucket(inSnapshot); err != nil {
			return fmt.Errorf("clear snapshot: %w", err)
		}
		if _, err := tx.CreateBucket(inSnapshot); err != nil {
			return fmt.Errorf("clear snapshot: %w", err)
		}
		return s.put(tx)
	})
}

// loadSnapshot reads the snapshot into the state and returns its size: 0 if it
// is of another shape or not there.
func (l *Ledger) loadSnapshot(tx *bolt.Tx) (record.Seq, error) {
	var meta snapshotMeta
	ok, err := getJSON(tx, metaSnapshot, &meta)
	if err != nil || !ok || meta.Shape != l.o.Fold.Shape {
		return 0, err
	}
	if meta.Size > l.now.size() {
		return 0, damaged(nil, "The snapshot is of %d records, more than there are.", meta.Size)
	}
	c := tx.Bucket(inSnapshot).Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		subject, e, err := readRow(l.o.Fold, k, v)
		if err != nil {
			return 0, err
		}
		l.now.subjects[subject] = e
	}
	l.now.clock = meta.Clock
	return meta.Size, nil
}

func readRow(f Fold, k, v []byte) (subject record.Subject, e entry, err error) {
	if err := subject.UnmarshalText(k); err != nil || len(v) < 8 {
		return subject, e, damaged(err, "A key of the snapshot is damaged.")
	}
	e.head = record.Seq(number(v[:8]))
	if len(v) > 8 {
		if e.value, err = f.Decode(subject.Type, v[8:]); err != nil {
			return subject, e, damaged(err, "The snapshot of %s is damaged.", subject)
		}
	}
	return subject, e, nil
}
