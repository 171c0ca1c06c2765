package ledger

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
)

// meta is what start needs to know of a bbolt meta page before the file is
// mapped into memory: bbolt would read beyond a file that was cut, and falls
// back from a damaged meta page to the transaction before without a word.
//
// The layout is bbolt's (its meta and page structs, version 2), in the byte
// order of the machine: a page header of 16 bytes, then magic, version, page
// size and flags in 4 bytes each; root page, root sequence, freelist page, high
// water mark, transaction and FNV-1a checksum of all before in 8 bytes each.
type meta struct {
	pageSize int64
	pages    int64 // the high water mark: the file has at least so many
	txid     uint64
}

const (
	metaHeader  = 16
	metaLength  = 64
	boltMagic   = 0xED0CDAED
	boltVersion = 2
)

var errMeta = errors.New("not a valid meta page")

func parseMeta(page []byte) (meta, error) {
	order := binary.NativeEndian
	b := page[metaHeader : metaHeader+metaLength]
	sum := fnv.New64a()
	sum.Write(b[:56])
	if order.Uint32(b) != boltMagic || order.Uint32(b[4:]) != boltVersion ||
		order.Uint64(b[56:]) != sum.Sum64() {
		return meta{}, errMeta
	}
	return meta{int64(order.Uint32(b[8:])), int64(order.Uint64(b[40:])), order.Uint64(b[48:])}, nil
}

// inspection is what the file looks like from outside.
type inspection struct {
	size   int64 // in bytes
	good   int   // meta pages that are valid
	newest meta
}

// inspect looks at the meta pages of a file and compares its length with them.
// A file that is not there or empty has a size of 0 and is no error here.
func inspect(name string) (in inspection, err error) {
	f, err := os.Open(name)
	if errors.Is(err, os.ErrNotExist) {
		return in, nil
	}
	if err != nil {
		return in, fmt.Errorf("inspect store: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size() == 0 {
		return in, err
	}
	in.size = info.Size()
	if err := in.readMetas(f); err != nil {
		return in, err
	}
	if end := in.newest.pages * in.newest.pageSize; in.size < end {
		return in, damaged(nil, "ledger.db was cut: it is %d bytes long and was %d.", in.size, end)
	}
	return in, nil
}

// readMetas reads both meta pages. The second stands where the page size of the
// machine that made the file has put it.
func (in *inspection) readMetas(f io.ReaderAt) error {
	page := make([]byte, metaHeader+metaLength)
	for _, offset := range []int64{0, 1 << 12, 1 << 13, 1 << 14, 1 << 15, 1 << 16} {
		if _, err := f.ReadAt(page, offset); err != nil {
			break // the file ends before
		}
		m, err := parseMeta(page)
		if err != nil || offset > 0 && m.pageSize != offset {
			continue
		}
		in.good++
		if in.good == 1 || m.txid > in.newest.txid {
			in.newest = m
		}
	}
	if in.good == 0 {
		return damaged(nil, "Both beginnings of ledger.db are damaged.")
	}
	return nil
}
