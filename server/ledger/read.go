package ledger

import (
	"fmt"
	"iter"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/mod/sumdb/tlog"

	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// chunkLines is how many lines Range copies out at a time.
const chunkLines = 256

func storedIndex(seq record.Seq) int64 { return tlog.StoredHashIndex(0, int64(seq)) }

// Line returns the stored bytes of a record, its leaf. Bytes that do not hash
// to the leaf's stored hash are damage and are not returned.
func (l *Ledger) Line(seq record.Seq) (line []byte, err error) {
	lines, err := l.lines(seq, seq+1)
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, fault.New(fault.Unknown, "There is no record %d.", seq)
	}
	return lines[0], nil
}

// Read returns a record.
func (l *Ledger) Read(seq record.Seq) (record.Record, error) {
	line, err := l.Line(seq)
	if err != nil {
		return record.Record{}, err
	}
	return parse(seq, line)
}

// Find returns the record that has an id, and whether there is one. It looks
// through the whole ledger.
func (l *Ledger) Find(id record.ID) (record.Record, bool, error) {
	l.mu.RLock()
	base, maybe := l.now.ids.base, l.now.ids.find(fingerprint(id))
	l.mu.RUnlock()
	r, err := l.confirm(id, maybe)
	if r == nil && err == nil {
		r, err = l.scan(id, 0, base)
	}
	if r == nil || err != nil {
		return record.Record{}, false, err
	}
	return *r, true, nil
}

// Range calls f with the records from from up to, not including, to, in order,
// until f returns an error. F may take its time: nothing is held while it runs.
func (l *Ledger) Range(from, to record.Seq, f func(record.Record) error) error {
	return l.RangeLines(from, to, func(r record.Record, _ []byte) error { return f(r) })
}

// RangeLines is Range for who wants the stored bytes, too.
func (l *Ledger) RangeLines(from, to record.Seq, f func(record.Record, []byte) error) error {
	for to = min(to, record.Seq(l.Size())); from < to; {
		lines, err := l.lines(from, min(from+chunkLines, to))
		if err != nil {
			return err
		}
		for _, line := range lines {
			r, err := parse(from, line)
			if err != nil {
				return err
			}
			if err := f(r, line); err != nil {
				return err
			}
			from++
		}
	}
	return nil
}

// Chain returns the records of a subject, the newest first. It ends after an
// error.
func (l *Ledger) Chain(s record.Subject) iter.Seq2[record.Record, error] {
	return func(yield func(record.Record, error) bool) {
		l.ChainFrom(l.Head(s))(yield)
	}
}

// ChainFrom returns a record and those before it of the same subject, the newest
// first; nothing for None. It ends after an error.
func (l *Ledger) ChainFrom(seq record.Seq) iter.Seq2[record.Record, error] {
	return func(yield func(record.Record, error) bool) {
		for seq != record.None {
			r, err := l.Read(seq)
			if !yield(r, err) || err != nil {
				return
			}
			seq = r.Prev
		}
	}
}

// lines copies out the lines of the records from from up to to that there are.
func (l *Ledger) lines(from, to record.Seq) (lines [][]byte, err error) {
	l.mu.RLock()
	size, last := l.now.size(), l.now.hashes
	l.mu.RUnlock()
	from, to = max(from, 0), min(to, size)
	err = l.view(func(tx *bolt.Tx) error {
		hashes := proof.Chunks{Store: &hashStore{tx.Bucket(inHashes), last}}
		c := tx.Bucket(inRecords).Cursor()
		k, v := c.Seek(key(int64(from)))
		for seq := from; seq < to; seq++ {
			if k == nil || number(k) != int64(seq) {
				return damaged(nil, "Record %d is missing.", seq)
			}
			if err := checkLeaf(hashes, seq, v); err != nil {
				return err
			}
			lines = append(lines, append([]byte(nil), v...))
			k, v = c.Next()
		}
		return nil
	})
	return lines, err
}

// checkLeaf reports whether a line is the one that was stored as record seq.
func checkLeaf(hashes proof.Reader, seq record.Seq, line []byte) error {
	want, err := hashes.ReadHashes([]int64{storedIndex(seq)})
	if err != nil {
		return damaged(err, "The hash of record %d cannot be read.", seq)
	}
	if tlog.RecordHash(line) != want[0] {
		return damaged(nil, "Record %d is not what was stored.", seq)
	}
	return nil
}

func parse(seq record.Seq, line []byte) (record.Record, error) {
	r, err := record.Parse(line)
	if err != nil {
		return record.Record{}, fmt.Errorf("read record %d: %w", seq, err)
	}
	return r, nil
}
