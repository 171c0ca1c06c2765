package ledger

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"tidemark/server/durable"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// Scrub is one slow pass over all that is stored, while it is in use, so that
// damage is found before somebody asks for just that record.
type Scrub struct {
	PerSecond int             // records or photographs read in a second
	Photos    *durable.Folder // nil if there is none
	Found     func(*Damage)   // told what is damaged, one by one
}

const scrubLines = 64

// Scrub reads every record, makes the tree again and compares its hashes with the
// stored ones, and reads every photograph. It ends early only when ctx
// does or the store cannot be read at all.
func (l *Ledger) Scrub(ctx context.Context, s Scrub) error {
	pace := &pace{ctx: ctx, perSecond: max(s.PerSecond, 1)}
	if err := l.scrubRecords(pace, s.Found); err != nil {
		return fmt.Errorf("scrub records: %w", err)
	}
	if s.Photos == nil {
		return nil
	}
	if err := scrubPhotos(pace, s); err != nil {
		return fmt.Errorf("scrub photographs: %w", err)
	}
	return nil
}

func (l *Ledger) scrubRecords(pace *pace, found func(*Damage)) error {
	size, hashes := l.Hashes()
	tree := &proof.Frontier{} // nil once a record is damaged
	for from := record.Seq(0); int64(from) < size; {
		to := min(from+scrubLines, record.Seq(size))
		lines, err := l.lines(from, to)
		if damage := (*Damage)(nil); errors.As(err, &damage) {
			err = l.oneByOne(from, to, found)
			tree = nil
		}
		if err != nil {
			return err
		}
		if tree != nil && !sameHashes(tree, lines, hashes) {
			found(damaged(nil, "The hashes of records %d to %d are not those of the tree.", from, to-1))
		}
		from = to
		if err := pace.wait(scrubLines); err != nil {
			return err
		}
	}
	return nil
}

// sameHashes adds lines to a tree and reports whether the hashes that they make
// are the stored ones.
func sameHashes(tree *proof.Frontier, lines [][]byte, stored proof.Reader) bool {
	var made []proof.Hash
	first := tree.Stored()
	for _, line := range lines {
		made = tree.Append(made, line)
	}
	indexes := make([]int64, len(made))
	for i := range indexes {
		indexes[i] = first + int64(i)
	}
	held, err := stored.ReadHashes(indexes)
	return err == nil && slices.Equal(held, made)
}

// oneByOne reads records of which some are damaged and tells which.
func (l *Ledger) oneByOne(from, to record.Seq, found func(*Damage)) error {
	for ; from < to; from++ {
		_, err := l.Line(from)
		if damage := (*Damage)(nil); errors.As(err, &damage) {
			found(damage)
		} else if err != nil {
			return err
		}
	}
	return nil
}

func scrubPhotos(pace *pace, s Scrub) error {
	return s.Photos.Walk(func(name string, _ fs.FileInfo) error {
		_, err := s.Photos.Read(name)
		switch {
		case errors.Is(err, durable.ErrWrongContent):
			s.Found(damaged(err, "Photograph %s is not what was stored.", name))
		case err != nil && !errors.Is(err, fs.ErrNotExist): // erased meanwhile
			return err
		}
		return pace.wait(1)
	})
}

// pace keeps work at so much a second.
type pace struct {
	ctx       context.Context
	perSecond int
}

func (p *pace) wait(done int) error {
	select {
	case <-p.ctx.Done():
		return p.ctx.Err()
	case <-time.After(time.Duration(done) * time.Second / time.Duration(p.perSecond)):
		return nil
	}
}
