package proof

import "fmt"

// ChunkHashes is how many stored hashes go into one chunk. Stored hashes form
// one dense sequence; chunk n holds those with indexes from n*ChunkHashes on,
// back to back, 32 bytes each. All chunks but the last are full.
const ChunkHashes = 64

const hashSize = len(Hash{})

// ChunkStore keeps chunks under their numbers. A bucket of a key-value store
// is enough.
type ChunkStore interface {
	// Chunk returns chunk n, or nothing if there is none. The caller does
	// not change the bytes and does not keep them.
	Chunk(n int64) ([]byte, error)
	// PutChunk stores chunk n in place of what was there. The bytes are the
	// store's to keep.
	PutChunk(n int64, value []byte) error
}

// Chunks reads and writes stored hashes, as values of up to ChunkHashes of
// them, in a store. It is a Reader.
type Chunks struct{ Store ChunkStore }

// Put stores hashes whose first one has the index first. It completes the last
// chunk before it begins new ones, and refuses to leave a gap or to replace
// what is stored: then memory and store disagree and nothing was written.
func (c Chunks) Put(first int64, hashes []Hash) error {
	n, held := first/ChunkHashes, int(first%ChunkHashes)
	value, err := c.Store.Chunk(n)
	if err != nil {
		return fmt.Errorf("read chunk %d: %w", n, err)
	}
	if len(value) != held*hashSize {
		return fmt.Errorf("put hash %d: chunk %d holds %d bytes, not %d",
			first, n, len(value), held*hashSize)
	}
	for ; len(hashes) > 0; n++ {
		now := min(len(hashes), ChunkHashes-held)
		value = joined(value, hashes[:now])
		if err := c.Store.PutChunk(n, value); err != nil {
			return fmt.Errorf("put chunk %d: %w", n, err)
		}
		hashes, held, value = hashes[now:], 0, nil
	}
	return nil
}

// joined returns a new chunk of what value holds and the hashes.
func joined(value []byte, hashes []Hash) []byte {
	grown := make([]byte, len(value), len(value)+len(hashes)*hashSize)
	copy(grown, value)
	for i := range hashes {
		grown = append(grown, hashes[i][:]...)
	}
	return grown
}

// ReadHashes returns the hashes stored under the given indexes. A hash that is
// not there is an error.
func (c Chunks) ReadHashes(indexes []int64) ([]Hash, error) {
	hashes := make([]Hash, len(indexes))
	for i, index := range indexes {
		value, err := c.Store.Chunk(index / ChunkHashes)
		if err != nil {
			return nil, fmt.Errorf("read chunk %d: %w", index/ChunkHashes, err)
		}
		at := int(index%ChunkHashes) * hashSize
		if len(value) < at+hashSize {
			return nil, fmt.Errorf("read hash %d: not stored", index)
		}
		hashes[i] = Hash(value[at : at+hashSize])
	}
	return hashes, nil
}
