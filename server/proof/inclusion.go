package proof

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/tlog"
)

const inclusionTitle = "tidemark inclusion 1\n"

// Leaf is one record: its sequence number and its stored bytes, verbatim. What
// the bytes say of their own number is for the caller to compare.
type Leaf struct {
	Seq   int64
	Bytes []byte
}

// Inclusion proves that any number of records are leaves of one tree: the
// stored hashes that their audit paths (RFC 6962, 2.1.1) need, each once.
type Inclusion struct {
	hashes map[int64]Hash
}

// ProveInclusion collects the proof that the records with the given numbers are
// in the tree of the given size.
func ProveInclusion(size int64, seqs []int64, r Reader) (Inclusion, error) {
	if err := checkSize(size); err != nil {
		return Inclusion{}, fmt.Errorf("prove inclusion: %w", err)
	}
	p := Inclusion{map[int64]Hash{}}
	collect := tlog.HashReaderFunc(func(indexes []int64) ([]Hash, error) {
		hashes, err := r.ReadHashes(indexes)
		if err == nil && len(hashes) == len(indexes) {
			for i, index := range indexes {
				p.hashes[index] = hashes[i]
			}
		}
		return hashes, err
	})
	for _, seq := range seqs {
		if _, err := tlog.ProveRecord(size, seq, collect); err != nil {
			return Inclusion{}, fmt.Errorf("prove record %d: %w", seq, err)
		}
	}
	return p, nil
}

// ParseInclusion is the inverse of Text.
func ParseInclusion(text string) (Inclusion, error) {
	body, ok := strings.CutPrefix(text, inclusionTitle)
	if !ok {
		return Inclusion{}, errors.New("parse inclusion: the first line is not that of one")
	}
	p := Inclusion{map[int64]Hash{}}
	for line := range strings.Lines(body) {
		number, hash, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		index, err := strconv.ParseInt(number, 10, 64)
		if err != nil || index < 0 {
			return Inclusion{}, fmt.Errorf("parse inclusion: %q is no index", number)
		}
		if p.hashes[index], err = tlog.ParseHash(hash); err != nil {
			return Inclusion{}, fmt.Errorf("parse inclusion: hash %d: %w", index, err)
		}
	}
	if p.Text() != text {
		return Inclusion{}, errors.New("parse inclusion: not written as a proof is")
	}
	return p, nil
}

// Text returns the proof as lines of text, see the package.
func (p Inclusion) Text() string {
	var b strings.Builder
	b.WriteString(inclusionTitle)
	for _, index := range slices.Sorted(maps.Keys(p.hashes)) {
		fmt.Fprintf(&b, "%d %s\n", index, encode(p.hashes[index]))
	}
	return b.String()
}

// Check reports whether the leaves are, byte for byte, records of the ledger
// that c speaks of. Their numbers must rise; a hash that no leaf needs is
// refused.
func (p Inclusion) Check(c Checkpoint, leaves []Leaf) error {
	if err := c.valid(); err != nil {
		return fmt.Errorf("check inclusion: %w", err)
	}
	used := map[int64]bool{}
	given := tlog.HashReaderFunc(func(indexes []int64) ([]Hash, error) {
		return p.use(indexes, used)
	})
	last := int64(-1)
	for _, leaf := range leaves {
		if leaf.Seq <= last {
			return fmt.Errorf("check inclusion: record %d comes after record %d", leaf.Seq, last)
		}
		last = leaf.Seq
		path, err := tlog.ProveRecord(c.Size, leaf.Seq, given)
		if err != nil {
			return fmt.Errorf("check inclusion: record %d: %w", leaf.Seq, err)
		}
		hash := tlog.RecordHash(leaf.Bytes)
		if err := tlog.CheckRecord(path, c.Size, c.Root, leaf.Seq, hash); err != nil {
			return fmt.Errorf("check inclusion: record %d is not what the ledger holds: %w",
				leaf.Seq, err)
		}
	}
	if len(used) != len(p.hashes) {
		return fmt.Errorf("check inclusion: %d hashes too many", len(p.hashes)-len(used))
	}
	return nil
}

// use returns the hashes under the given indexes and notes that they served.
func (p Inclusion) use(indexes []int64, used map[int64]bool) ([]Hash, error) {
	hashes := make([]Hash, len(indexes))
	for i, index := range indexes {
		hash, ok := p.hashes[index]
		if !ok {
			return nil, fmt.Errorf("hash %d is missing", index)
		}
		hashes[i], used[index] = hash, true
	}
	return hashes, nil
}
