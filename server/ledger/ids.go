package ledger

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
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

// recent finds the newest records by fingerprint, in some 11 bytes for each.
type recent struct {
	base  record.Seq // tags[0] is that of record base
	tags  []uint32   // the lower halves of the fingerprints: a hit is confirmed anyway
	slots []int32    // open addressing: index into tags + 1, 0 for an empty slot
	last  []uint64   // whole fingerprints of the records that fill no chunk
}

// newRecent has room for so many records before it has to grow.
func newRecent(base record.Seq, room int) recent {
	return recent{base: base, tags: make([]uint32, 0, room), slots: make([]int32, 2*room)}
}

func (r *recent) end() record.Seq { return r.base + record.Seq(len(r.tags)) }

// add appends the fingerprints of the next records.
func (r *recent) add(prints ...uint64) {
	r.last = append(r.last, prints...)
	r.last = append([]uint64(nil), r.last[len(r.last)/chunkIDs*chunkIDs:]...)
	from := len(r.tags)
	for _, p := range prints {
		r.tags = append(r.tags, uint32(p))
	}
	if 3*len(r.tags) > 2*len(r.slots) {
		r.index()
		return
	}
	for i := from; i < len(r.tags); i++ {
		r.place(i)
	}
}

// forget drops what is before a record.
func (r *recent) forget(before record.Seq) {
	if before <= r.base {
		return
	}
	r.tags = append([]uint32(nil), r.tags[before-r.base:]...)
	r.base = before
	r.index()
}

func (r *recent) index() {
	r.slots = make([]int32, max(2*len(r.tags), 1024))
	for i := range r.tags {
		r.place(i)
	}
}

func (r *recent) place(i int) {
	slot := r.slot(r.tags[i])
	for r.slots[slot] != 0 {
		slot = r.after(slot)
	}
	r.slots[slot] = int32(i + 1)
}

// slot is where to look for a tag first; tags are as good as random.
func (r *recent) slot(tag uint32) int { return int(uint64(tag) * uint64(len(r.slots)) >> 32) }

func (r *recent) after(slot int) int {
	if slot++; slot < len(r.slots) {
		return slot
	}
	return 0
}

// find returns the records that may have a fingerprint; nearly always none or
// one.
func (r *recent) find(print uint64) (found []record.Seq) {
	if len(r.slots) == 0 {
		return nil
	}
	tag := uint32(print)
	for slot := r.slot(tag); r.slots[slot] != 0; slot = r.after(slot) {
		if i := r.slots[slot] - 1; r.tags[i] == tag {
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

func readPrints(value []byte) (prints []uint64) {
	for ; len(value) >= printSize; value = value[printSize:] {
		prints = append(prints, binary.BigEndian.Uint64(value))
	}
	return prints
}
