package ledger

import (
	"encoding/binary"
	"fmt"
	"math/bits"
	"runtime/debug"
	"time"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/proof"
)

// Buckets of ledger.db, see the package.
var (
	inRecords  = []byte("records")
	inHashes   = []byte("hashes")
	inIDs      = []byte("ids")
	inSnapshot = []byte("snapshot")
	inDays     = []byte("days")
	inApart    = []byte("apart")
	inOutbox   = []byte("outbox")
	inMeta     = []byte("meta")
)

func buckets() [][]byte {
	return [][]byte{inRecords, inHashes, inIDs, inSnapshot, inDays, inApart, inOutbox, inMeta}
}

// packed is how full pages are left by keys that only grow; the default of one
// half is for keys in random order and doubles the file.
const packed = 0.95

func boltOptions() *bolt.Options {
	o := &bolt.Options{Timeout: time.Second, FreelistType: bolt.FreelistMapType, NoStatistics: true}
	if bits.UintSize == 64 {
		// With less, one open reader blocks the writer once the file has to grow.
		o.InitialMmapSize = 64 << 30 & (1<<(bits.UintSize-1) - 1)
	}
	return o
}

func key(n int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(n)) }

func number(k []byte) int64 { return int64(binary.BigEndian.Uint64(k)) }

// growing returns a bucket whose keys only grow, for writing.
func growing(tx *bolt.Tx, name []byte) *bolt.Bucket {
	b := tx.Bucket(name)
	b.FillPercent = packed
	return b
}

// next returns the number after the last key of a bucket, 0 if it is empty.
func next(b *bolt.Bucket) int64 {
	k, _ := b.Cursor().Last()
	if k == nil {
		return 0
	}
	return number(k) + 1
}

// view reads the store. A damaged page makes bbolt panic or the kernel send
// SIGBUS; here it is an error, and the process goes on. F must not keep what it
// was given.
func (l *Ledger) view(f func(tx *bolt.Tx) error) error { return guarded(l.db, f) }

func guarded(db *bolt.DB, f func(tx *bolt.Tx) error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = damaged(fmt.Errorf("read store: %v", p), "A page of ledger.db is damaged.")
		}
	}()
	return db.View(f)
}

// hashStore keeps full chunks of hashes in a bucket and the last one in memory.
type hashStore struct {
	full *bolt.Bucket
	last chunkTail
}

// chunkTail is a chunk that is not full.
type chunkTail struct {
	n     int64
	value []byte // never changed, only replaced
}

// Chunk makes a hashStore a proof.ChunkStore.
func (s *hashStore) Chunk(n int64) ([]byte, error) {
	if n == s.last.n {
		return s.last.value, nil
	}
	return s.full.Get(key(n)), nil
}

// PutChunk makes a hashStore a proof.ChunkStore.
func (s *hashStore) PutChunk(n int64, value []byte) error {
	if len(value) < proof.ChunkHashes*len(proof.Hash{}) {
		s.last = chunkTail{n, value}
		return nil
	}
	s.last = chunkTail{n: n + 1}
	return s.full.Put(key(n), value)
}

// Hashes returns the number of records and a reader of the tree's stored
// hashes up to there, for proofs.
func (l *Ledger) Hashes() (size int64, r proof.Reader) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.now.tree.Size(), hashReader{l, l.now.hashes}
}

type hashReader struct {
	l    *Ledger
	last chunkTail
}

// ReadHashes makes a hashReader a proof.Reader.
func (r hashReader) ReadHashes(indexes []int64) (hashes []proof.Hash, err error) {
	err = r.l.view(func(tx *bolt.Tx) error {
		hashes, err = proof.Chunks{Store: &hashStore{tx.Bucket(inHashes), r.last}}.ReadHashes(indexes)
		return err
	})
	return hashes, err
}
