package ledger

import (
	"io"

	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// CheckpointAt returns the size and root of the ledger as it was when it held
// size records, also as a note signed by the key in use.
func (l *Ledger) CheckpointAt(size int64) (c proof.Checkpoint, signed []byte, err error) {
	now, hashes := l.Hashes()
	if size < 1 || size > now {
		return c, nil, fault.New(fault.Unknown, "There is no such size: the ledger holds %d records.", now)
	}
	if c, err = proof.NewCheckpoint(l.identity.Origin, size, hashes); err != nil {
		return c, nil, err
	}
	signed, err = c.Sign(l.signer())
	return c, signed, err
}

// Prove collects the proof that records are in the ledger as it was at a size.
func (l *Ledger) Prove(size int64, seqs []int64) (proof.Inclusion, error) {
	_, hashes := l.Hashes()
	return proof.ProveInclusion(size, seqs, hashes)
}

// Pack writes files as a pack whose manifest the key in use signs.
func (l *Ledger) Pack(w io.Writer, c proof.Checkpoint, files []proof.Content) error {
	return proof.WriteContents(w, c, files, l.signer())
}

// Past is the state that the first records fold into, whatever came later.
type Past struct {
	fold folding
	size int64
}

// Value makes a Past a record.View.
func (p Past) Value(of record.Subject) any { return p.fold.Value(of) }

// Size is how many records it is of.
func (p Past) Size() int64 { return p.size }

// Clock is the latest time that was given to one of its records.
func (p Past) Clock() record.Time { return p.fold.clock }

// Head returns the newest record of a subject then, None if it had none.
func (p Past) Head(s record.Subject) record.Seq { return p.fold.entry(s).head }

// Past folds the first size records. It reads all of them, some at a time.
func (l *Ledger) Past(size int64) (Past, error) {
	p := Past{size: size, fold: folding{&state{subjects: map[record.Subject]entry{}}, map[record.Subject]struct{}{}}}
	for from := record.Seq(0); int64(from) < size; from += replayLines {
		lines, err := l.lines(from, min(from+replayLines, record.Seq(size)))
		if err != nil {
			return p, err
		}
		all, err := parseAll(from, lines)
		if err != nil {
			return p, err
		}
		for i := range all {
			if err := p.fold.apply(l.o.Fold, &all[i]); err != nil {
				return p, err
			}
		}
	}
	return p, nil
}
