package ledger

import (
	bolt "go.etcd.io/bbolt"

	"tidemark/server/record"
)

// defaultRecent is how many ids are found in memory: as many whatever the history,
// so that a start costs the same after ten years. It is six days of a thousand
// sealers and months of forty; older ids are searched for in the store, from the
// size the entry has seen.
const defaultRecent = 1 << 14

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
	if len(r.last) > 0 || len(prints)%chunkIDs != 0 { // a start adds whole chunks
		r.last = append(r.last, prints...)
		r.last = append([]uint64(nil), r.last[len(r.last)/chunkIDs*chunkIDs:]...)
	}
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

// loadIDs reads the fingerprints of the newest records: the stored chunks, then
// those of the records that fill none.
func (l *Ledger) loadIDs() error {
	base := l.firstRecent(l.now.size())
	ids := newRecent(base, int(l.now.size()-base)+snapshotEvery)
	err := l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inIDs).Cursor()
		for k, v := c.Seek(key(int64(base) / chunkIDs)); k != nil; k, v = c.Next() {
			ids.add(readPrints(v)...)
		}
		return nil
	})
	if err != nil {
		return err
	}
	err = l.Range(ids.end(), l.now.size(), func(r record.Record) error {
		ids.add(fingerprint(r.ID))
		return nil
	})
	l.now.ids = ids
	return err
}

// firstRecent is the first record whose id is kept in memory, a multiple of 64.
func (l *Ledger) firstRecent(size record.Seq) record.Seq {
	return max(0, size-l.o.Recent) / chunkIDs * chunkIDs
}

// forgetIDs drops the ids that are too many, once they are a quarter of all.
func (l *Ledger) forgetIDs() {
	ids := &l.now.ids
	if base := l.firstRecent(ids.end()); int(base-ids.base) >= len(ids.tags)/4 {
		l.mu.Lock()
		ids.forget(base)
		l.mu.Unlock()
	}
}
