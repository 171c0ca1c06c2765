package proof

import (
	"errors"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/tlog"
)

const consistencyTitle = "tidemark consistency 1\n"

// Consistency proves that one checkpoint goes on from an older one: the hashes
// of RFC 6962, 2.1.2, in that order.
type Consistency []Hash

// ProveConsistency makes the proof that the tree of size to begins with the
// tree of size from.
func ProveConsistency(from, to int64, r Reader) (Consistency, error) {
	if err := errors.Join(checkSize(from), checkSize(to)); err != nil {
		return nil, fmt.Errorf("prove consistency: %w", err)
	}
	if from == 0 {
		return Consistency{}, nil // every tree goes on from the empty one
	}
	hashes, err := tlog.ProveTree(to, from, r)
	if err != nil {
		return nil, fmt.Errorf("prove consistency of %d with %d: %w", to, from, err)
	}
	return Consistency(hashes), nil
}

// ParseConsistency is the inverse of Text.
func ParseConsistency(text string) (Consistency, error) {
	body, ok := strings.CutPrefix(text, consistencyTitle)
	if !ok {
		return nil, errors.New("parse consistency: the first line is not that of one")
	}
	p := Consistency{}
	for line := range strings.Lines(body) {
		hash, err := tlog.ParseHash(strings.TrimSuffix(line, "\n"))
		if err != nil {
			return nil, fmt.Errorf("parse consistency: %w", err)
		}
		p = append(p, hash)
	}
	if p.Text() != text {
		return nil, errors.New("parse consistency: not written as a proof is")
	}
	return p, nil
}

// Text returns the proof as lines of text, see the package.
func (p Consistency) Text() string {
	var b strings.Builder
	b.WriteString(consistencyTitle)
	for _, hash := range p {
		b.WriteString(encode(hash) + "\n")
	}
	return b.String()
}

// Check reports whether both checkpoints are of the same ledger and to holds
// everything that from held, unchanged and in the same place.
func (p Consistency) Check(from, to Checkpoint) error {
	if err := errors.Join(from.valid(), to.valid()); err != nil {
		return fmt.Errorf("check consistency: %w", err)
	}
	if from.Origin != to.Origin {
		return fmt.Errorf("check consistency: %s is not %s", to.Origin, from.Origin)
	}
	if from.Size == 0 {
		return p.checkFromEmpty(from, to)
	}
	err := tlog.CheckTree(tlog.TreeProof(p), to.Size, to.Root, from.Size, from.Root)
	if err != nil {
		return fmt.Errorf("check consistency: %d does not go on from %d: %w",
			to.Size, from.Size, err)
	}
	return nil
}

// checkFromEmpty checks the case that RFC 6962 leaves out: from has no leaf.
func (p Consistency) checkFromEmpty(from, to Checkpoint) error {
	var empty Frontier
	if len(p) > 0 || from.Root != empty.Root() || to.Size == 0 && to.Root != from.Root {
		return errors.New("check consistency: the root of no records is another")
	}
	return nil
}
