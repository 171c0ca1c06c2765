package ledger

import (
	"bytes"
	"slices"

	"tidemark/server/proof"
	"tidemark/server/record"
)

// records parses, hashes, chains and folds every record.
func (c *checker) records() error {
	lines := make([][]byte, 0, replayLines)
	first := record.Seq(0)
	cursor := c.tx.Bucket(inRecords).Cursor()
	for k, v := cursor.First(); ; k, v = cursor.Next() {
		if k == nil || len(lines) == replayLines {
			if err := c.someRecords(first, lines); err != nil {
				return err
			}
			first, lines = first+record.Seq(len(lines)), lines[:0]
		}
		if k == nil {
			break
		}
		if number(k) != int64(first)+int64(len(lines)) {
			return damaged(nil, "Record %d is missing.", first+record.Seq(len(lines)))
		}
		lines = append(lines, bytes.Clone(v))
	}
	c.report.Size, c.report.Root = c.state.tree.Size(), c.state.tree.Root()
	c.checked("%d records read: each is in its form and follows the one before of its subject.",
		c.report.Size)
	return nil
}

func (c *checker) someRecords(first record.Seq, lines [][]byte) error {
	all, err := parseAll(first, lines)
	if err != nil {
		return damaged(err, "A record cannot be read.")
	}
	for i := range all {
		c.snapshotHere()
		c.hash(record.Seq(int64(first)+int64(i)), lines[i])
		c.record(&all[i], first+record.Seq(i))
		if c.Each == nil {
			continue
		}
		if err := c.Each(&all[i]); err != nil {
			return err
		}
	}
	return nil
}

// hash adds a leaf and compares the hashes that it makes with the stored ones.
func (c *checker) hash(seq record.Seq, line []byte) {
	index := c.state.tree.Stored()
	for i, h := range c.state.tree.Append(nil, line) {
		at := index + int64(i)
		if n := at / proof.ChunkHashes; n != c.chunk {
			c.chunk, c.value = n, c.tx.Bucket(inHashes).Get(key(n))
		}
		from := int(at%proof.ChunkHashes) * len(h)
		if len(c.value) > 0 && !bytes.HasPrefix(c.value[min(from, len(c.value)):], h[:]) {
			c.wrong("Record %d is not what was stored: its hash is another.", seq)
			break
		}
	}
	if _, ok := c.roots[int64(seq)+1]; ok {
		c.roots[int64(seq)+1] = c.state.tree.Root()
	}
}

// record checks what a record says of itself and applies it.
func (c *checker) record(r *record.Record, seq record.Seq) {
	e := c.state.entry(r.Subject)
	switch {
	case r.Seq != seq:
		c.wrong("Record %d says that it is record %d.", seq, r.Seq)
	case r.Prev != e.head:
		c.wrong("Record %d does not follow record %d of %s.", seq, e.head, r.Subject)
	case r.Corrects >= seq, len(r.RestsOn) > 0 && slices.Max(r.RestsOn) >= seq:
		c.wrong("Record %d names a record that came later.", seq)
	}
	e.head = seq
	c.state.put(r.Subject, e)
	c.state.clock = clockAfter(c.state.clock, r)
	c.prints = append(c.prints, fingerprint(r.ID))
	c.marks.mark(r)
	c.Fold.Evolve(c.state, r)
}

// snapshotHere compares the snapshot with the fold, once as many records were
// applied as it holds.
func (c *checker) snapshotHere() {
	if c.snap.Size != c.state.size() || c.snap.Size == 0 || c.snap.Shape != c.Fold.Shape {
		return
	}
	rows := 0
	b := c.tx.Bucket(inSnapshot)
	for subject, e := range c.state.subjects {
		want, err := e.row()
		if err != nil || !bytes.Equal(want, b.Get([]byte(subject.String()))) {
			c.wrong("The snapshot of %s at %d records is not what they fold into.",
				subject, c.snap.Size)
		}
		rows++
	}
	if n := b.Inspect().KeyN; n != rows {
		c.wrong("The snapshot has %d values, not %d.", n, rows)
	}
	if c.snap.Clock != c.state.clock {
		c.wrong("The snapshot's clock is not that of its records.")
	}
	c.checked("The snapshot at %d records is what they fold into (%d subjects).", c.snap.Size, rows)
	c.snap.Size = 0
}
