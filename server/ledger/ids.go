package ledger

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"time"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/record"
)

const (
	chunkIDs   = 64                  // fingerprints of one chunk
	printSize  = 8                   //
	keepRecent = 30 * 24 * time.Hour // ids of so long are found in memory
	mostRecent = 1 << 18             // but not more than so many
)

// fingerprint stands for an id. It is a hash, so that nobody can choose ids
// that look alike, and so that ids that begin with a clock are as good as any.
func fingerprint(id record.ID) uint64 {
	sum := sha256.Sum256(id[:])
	return binary.BigEndian.Uint64(sum[:])
}

// recent finds the newest records by fingerprint, in 16 bytes for each.
type recent struct {
	base   record.Seq // prints[0] is that of record base
	prints []uint64
	slots  []int32 // open addressing: index into prints + 1, 0 for an empty slot
}

func (r *recent) end() record.Seq { return r.base + record.Seq(len(r.prints)) }

// add appends the fingerprints of the next records.
func (r *recent) add(prints ...uint64) {
	from := len(r.prints)
	r.prints = append(r.prints, prints...)
	if 2*len(r.prints) > len(r.slots) {
		r.index()
		return
	}
	for i := from; i < len(r.prints); i++ {
		r.place(i)
	}
}

// forget drops what is before a record.
func (r *recent) forget(before record.Seq) {
	if before <= r.base {
		return
	}
	r.prints = append([]uint64(nil), r.prints[before-r.base:]...)
	r.base = before
	r.index()
}

func (r *recent) index() {
	size := 1024
	for size < 3*len(r.prints) {
		size *= 2
	}
	r.slots = make([]int32, size)
	for i := range r.prints {
		r.place(i)
	}
}

func (r *recent) place(i int) {
	slot := r.slot(r.prints[i])
	for r.slots[slot] != 0 {
		slot = (slot + 1) % len(r.slots)
	}
	r.slots[slot] = int32(i + 1)
}

func (r *recent) slot(print uint64) int { return int(print % uint64(len(r.slots))) }

// find returns the records with a fingerprint; nearly always none or one.
func (r *recent) find(print uint64) (found []record.Seq) {
	if len(r.slots) == 0 {
		return nil
	}
	for slot := r.slot(print); r.slots[slot] != 0; slot = (slot + 1) % len(r.slots) {
		if i := r.slots[slot] - 1; r.prints[i] == print {
			found = append(found, r.base+record.Seq(i))
		}
	}
	return found
}

// known answers an item whose id has been used, in the store or earlier in this
// group.
func (g *group) known(it *item) (bool, error) {
	if same, ok := g.answers[it.ID]; ok {
		it.receipt = same.receipt
		it.receipt.Repeat = true
		return true, otherContent(same.Content, it.Content)
	}
	r, err := g.l.confirm(it.ID, g.l.now.ids.find(fingerprint(it.ID)))
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
	it.searched = base
	return l.scan(it.ID, from, base)
}

// scan reads the stored fingerprints of records from to end, some 50 ms for ten
// million of them.
func (l *Ledger) scan(id record.ID, from, end record.Seq) (*record.Record, error) {
	if from >= end {
		return nil, nil
	}
	want := fingerprint(id)
	var found []record.Seq
	err := l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inIDs).Cursor()
		for k, v := c.Seek(key(int64(from) / chunkIDs)); k != nil; k, v = c.Next() {
			first := record.Seq(number(k)) * chunkIDs
			for i := 0; i+printSize <= len(v); i += printSize {
				if binary.BigEndian.Uint64(v[i:]) == want {
					found = append(found, first+record.Seq(i/printSize))
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
	ids := &g.l.now.ids
	end := int64(ids.end()) + int64(len(g.prints))
	for n := int64(ids.end()) / chunkIDs; (n+1)*chunkIDs <= end; n++ {
		prints := make([]uint64, chunkIDs)
		for i := range prints {
			prints[i] = g.print(record.Seq(n*chunkIDs) + record.Seq(i))
		}
		if err := growing(tx, inIDs).Put(key(n), printChunk(prints)); err != nil {
			return fmt.Errorf("put ids: %w", err)
		}
	}
	return nil
}

// print is the fingerprint of a record that is in memory or in the group.
func (g *group) print(seq record.Seq) uint64 {
	if ids := &g.l.now.ids; seq < ids.end() {
		return ids.prints[seq-ids.base]
	}
	return g.prints[seq-g.from()]
}

func printChunk(prints []uint64) []byte {
	value := make([]byte, 0, chunkIDs*printSize)
	for _, p := range prints {
		value = binary.BigEndian.AppendUint64(value, p)
	}
	return value
}
