package proof

import (
	"crypto/sha256"
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"
)

// Hash is a SHA-256 value: a leaf, a node or a root of the tree.
type Hash = tlog.Hash

// Reader finds stored hashes by their index; Chunks is one.
type Reader = tlog.HashReader

// MaxSize bounds the number of leaves. It is beyond any ledger and well within
// what the arithmetic of tlog bears: past 1<<62 that would never end.
const MaxSize = 1 << 48

func checkSize(size int64) error {
	if size < 0 || size > MaxSize {
		return fmt.Errorf("size %d: want 0 to %d", size, int64(MaxSize))
	}
	return nil
}

// Frontier is the right edge of a tree: all an appender must know to go on.
// It holds one hash for each bit that is set in the size, the root of a full
// subtree of so many leaves; nothing left of them is needed again.
//
// The zero value is the empty tree. A Frontier is a plain value of 2 kB: a
// copy is a staged tree, dropped by forgetting it. It is not safe for
// concurrent use.
type Frontier struct {
	size int64
	edge [63]Hash // edge[level] is valid where bit level of size is set
}

// ReadFrontier reads the right edge of the tree of the given size, at most
// log2(size)+1 hashes, in one call of r.
func ReadFrontier(size int64, r Reader) (Frontier, error) {
	if err := checkSize(size); err != nil {
		return Frontier{}, fmt.Errorf("read frontier: %w", err)
	}
	levels, indexes := edgeIndexes(size)
	hashes, err := r.ReadHashes(indexes)
	if err != nil {
		return Frontier{}, fmt.Errorf("read frontier: %w", err)
	}
	if len(hashes) != len(indexes) {
		return Frontier{}, fmt.Errorf("read frontier: %d hashes for %d indexes",
			len(hashes), len(indexes))
	}
	f := Frontier{size: size}
	for i, level := range levels {
		f.edge[level] = hashes[i]
	}
	return f, nil
}

// edgeIndexes returns the levels of the full subtrees of a tree and the
// indexes under which their roots are stored, both in rising order of index.
func edgeIndexes(size int64) (levels []int, indexes []int64) {
	for level := bits.Len64(uint64(size)) - 1; level >= 0; level-- {
		if n := size >> level; n&1 == 1 {
			levels = append(levels, level)
			indexes = append(indexes, tlog.StoredHashIndex(level, n-1))
		}
	}
	return levels, indexes
}

// Size returns the number of leaves.
func (f *Frontier) Size() int64 { return f.size }

// Stored returns the number of hashes that all appends so far have given,
// which is the index of the first one that the next append gives.
func (f *Frontier) Stored() int64 { return tlog.StoredHashCount(f.size) }

// Append adds one leaf and appends to dst the hashes to be stored for it, in
// order of index: the leaf's own and that of each subtree it completes, two on
// average. They are those of tlog.StoredHashes, without reading the store.
func (f *Frontier) Append(dst []Hash, leaf []byte) []Hash {
	h := tlog.RecordHash(leaf)
	dst = append(dst, h)
	level := 0
	for ; f.size>>level&1 == 1; level++ {
		h = tlog.NodeHash(f.edge[level], h)
		dst = append(dst, h)
	}
	f.edge[level] = h
	f.size++
	return dst
}

// Root returns the root of the tree, log2(size) hashes of work. The root of
// the empty tree is the hash of no bytes (RFC 6962, 2.1).
func (f *Frontier) Root() Hash {
	if f.size == 0 {
		return sha256.Sum256(nil)
	}
	level := bits.TrailingZeros64(uint64(f.size))
	h := f.edge[level]
	for level++; f.size>>level != 0; level++ {
		if f.size>>level&1 == 1 {
			h = tlog.NodeHash(f.edge[level], h)
		}
	}
	return h
}
