package ledger

import (
	"sort"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/mod/sumdb/tlog"

	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// load makes the state: the tree, the anchor's word on it, the snapshot and
// the records since. In doubt the snapshot counts for nothing and every record
// is read again.
func (l *Ledger) load(anchor []byte, doubt bool) error {
	err := l.view(func(tx *bolt.Tx) (err error) {
		l.now.tree, l.now.hashes, err = readTree(tx)
		return err
	})
	if err != nil {
		return err
	}
	if err := l.holdsAnchor(anchor); err != nil {
		return err
	}
	var from record.Seq
	err = l.view(func(tx *bolt.Tx) (err error) {
		l.now.days = readDays(tx)
		if l.now.lost, err = readAccepted(tx); err != nil || doubt {
			return err
		}
		from, err = l.loadSnapshot(tx)
		return err
	})
	if err != nil {
		return err
	}
	l.writer.snapped = from
	if err := l.replay(from); err != nil {
		return err
	}
	if from == 0 && l.now.size() > 0 {
		err := l.replaceSnapshot()
		if err != nil && !fault.Is(err, fault.Full) {
			return err
		}
	}
	return l.loadIDs()
}

// readTree reads the right edge of the tree and makes again the hashes that fill
// no chunk.
func readTree(tx *bolt.Tx) (tree proof.Frontier, last chunkTail, err error) {
	size := next(tx.Bucket(inRecords))
	full := next(tx.Bucket(inHashes))
	stored := full * proof.ChunkHashes
	if short := tlog.StoredHashCount(size) - stored; short < 0 || short >= proof.ChunkHashes {
		return tree, last, damaged(nil, "There are %d records, but hashes for others.", size)
	}
	// The first record that has a hash which is not stored.
	first := int64(sort.Search(int(size), func(n int) bool {
		return tlog.StoredHashCount(int64(n)+1) > stored
	}))
	last.n = full
	tree, err = proof.ReadFrontier(first, proof.Chunks{Store: &hashStore{tx.Bucket(inHashes), last}})
	if err != nil {
		return tree, last, damaged(err, "The tree of hashes cannot be read.")
	}
	var hashes []proof.Hash
	begin := tree.Stored()
	for seq := first; seq < size; seq++ {
		hashes = tree.Append(hashes, tx.Bucket(inRecords).Get(key(seq)))
	}
	for _, h := range hashes[min(stored-begin, int64(len(hashes))):] {
		last.value = append(last.value, h[:]...)
	}
	return tree, last, nil
}

// replay applies the records from from on.
func (l *Ledger) replay(from record.Seq) error {
	s, size := folding{&l.now, l.writer.dirty}, l.now.size()
	for from < size {
		lines, err := l.lines(from, min(from+replayLines, size))
		if err != nil {
			return err
		}
		all, err := parseAll(from, lines)
		if err != nil {
			return err
		}
		for i := range all {
			if err := s.apply(l.o.Fold, &all[i]); err != nil {
				return err
			}
		}
		from += record.Seq(len(all))
		l.o.Progress(int64(from), int64(size))
	}
	return nil
}

// folding is a state that records are applied to for good.
type folding struct {
	*state
	dirty map[record.Subject]struct{}
}

// apply applies a stored record.
func (f folding) apply(fold Fold, r *record.Record) error {
	e := f.entry(r.Subject)
	if r.Prev != e.head {
		return damaged(nil, "Record %d does not follow record %d of %s.", r.Seq, e.head, r.Subject)
	}
	e.head = r.Seq
	f.put(r.Subject, e)
	f.clock = clockAfter(f.clock, r)
	fold.Evolve(f, r)
	return nil
}

func (f folding) put(of record.Subject, e entry) {
	f.subjects[of] = e
	f.dirty[of] = struct{}{}
}

// Set makes a folding a record.Stage.
func (f folding) Set(of record.Subject, value any) {
	e := f.entry(of)
	e.value = value
	f.put(of, e)
}
