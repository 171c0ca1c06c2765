package ledger

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/record"
)

const (
	chunkIDs  = 64 // fingerprints of one chunk
	printSize = 8
)

// fingerprint stands for an id. It is a hash, so that nobody can choose ids
// that look alike, and so that ids that begin with a clock are as good as any.
func fingerprint(id record.ID) uint64 {
	sum := sha256.Sum256(id[:])
	return binary.BigEndian.Uint64(sum[:])
}

// known answers an item whose id has been used, in the store or earlier in this
// group.
func (g *group) known(it *item) (bool, error) {
	if same, ok := g.answers[it.ID]; ok {
		it.receipt = same.receipt
		it.receipt.Repeat = true
		return true, otherContent(same.Content, it.Content)
	}
	r, err := g.l.confirm(it.ID, g.l.now.ids.find(it.print))
	if r == nil && err == nil && it.searched < g.l.now.ids.base {
		r, err = g.l.scan(it.ID, it.searched, g.l.now.ids.base)
	}
	if r == nil || err != nil {
		return false, err
	}
	it.receipt, err = g.l.repeat(r, it.Content)
	return true, err
}

// searchOld looks for an item's id among the records that are not in memory, as
// far back as the id can be. It takes time, so the caller does it.
func (l *Ledger) searchOld(it *item) (*record.Record, error) {
	l.mu.RLock()
	base := l.now.ids.base
	l.mu.RUnlock()
	from := record.Seq(0)
	if it.Content != nil {
		from = record.Seq(max(it.Content.Seen, 0))
	}
	it.searched = max(from, base)
	return l.scan(it.ID, from, base)
}

// scan reads the stored fingerprints of records from to end, some 50 ms for ten
// million of them.
func (l *Ledger) scan(id record.ID, from, end record.Seq) (*record.Record, error) {
	if from >= end {
		return nil, nil
	}
	want, last := fingerprint(id), int64(end-1)/chunkIDs
	var found []record.Seq
	err := l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inIDs).Cursor()
		for k, v := c.Seek(key(int64(from) / chunkIDs)); k != nil && number(k) <= last; k, v = c.Next() {
			first := record.Seq(number(k)) * chunkIDs
			for i, p := range readPrints(v) {
				if p == want {
					found = append(found, first+record.Seq(i))
				}
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look for id %s: %w", id, err)
	}
	return l.confirm(id, found)
}

// confirm reads the records that may have an id and returns the one that does.
func (l *Ledger) confirm(id record.ID, maybe []record.Seq) (*record.Record, error) {
	for _, seq := range maybe {
		r, err := l.Read(seq)
		if err != nil {
			return nil, err
		}
		if r.ID == id {
			return &r, nil
		}
	}
	return nil, nil
}

// repeat is the receipt of a command whose first record is already stored.
func (l *Ledger) repeat(first *record.Record, content *record.Record) (Receipt, error) {
	if err := otherContent(first, content); err != nil {
		return Receipt{}, err
	}
	size := record.Seq(l.Size())
	got := Receipt{First: first.Seq, Count: 1, At: first.At, Repeat: true, Size: int64(size)}
	for seq := first.Seq + 1; seq < size; seq++ {
		r, err := l.Read(seq)
		if err != nil {
			return Receipt{}, err
		}
		if r.Of != first.ID {
			break
		}
		got.Count++
	}
	return got, nil
}

func otherContent(stored, content *record.Record) error {
	if stored == nil || content == nil || stored.SameContent(content) {
		return nil
	}
	return fault.New(fault.Conflict,
		"This entry's number was used for something else. Enter it again on a fresh page.")
}

// putIDs stores the chunks of fingerprints that the group fills.
func (g *group) putIDs(tx *bolt.Tx) error {
	prints := append(slices.Clip(g.l.now.ids.last), g.prints...)
	for n := int64(g.from()) / chunkIDs; len(prints) >= chunkIDs; n++ {
		if err := growing(tx, inIDs).Put(key(n), printChunk(prints[:chunkIDs])); err != nil {
			return fmt.Errorf("put ids: %w", err)
		}
		prints = prints[chunkIDs:]
	}
	return nil
}

func printChunk(prints []uint64) []byte {
	value := make([]byte, 0, chunkIDs*printSize)
	for _, p := range prints {
		value = binary.BigEndian.AppendUint64(value, p)
	}
	return value
}

func readPrints(value []byte) []uint64 {
	prints := make([]uint64, 0, len(value)/printSize)
	for ; len(value) >= printSize; value = value[printSize:] {
		prints = append(prints, binary.BigEndian.Uint64(value))
	}
	return prints
}
