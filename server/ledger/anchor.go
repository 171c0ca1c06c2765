package ledger

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"tidemark/server/durable"
	"tidemark/server/proof"
)

const (
	anchorFile  = "anchor"
	suspectFile = "suspect"
	anchorEvery = time.Second
)

// anchor keeps a signed checkpoint beside the store, behind the commits. At the
// next start it tells a store that was emptied, rolled back or replaced, which
// the store itself cannot.
type anchor struct {
	l      *Ledger
	mu     sync.Mutex // one save at a time
	signal chan struct{}
	quit   chan struct{}
	gone   chan struct{}
	saved  atomic.Int64 // records that the anchor is signed for
}

func newAnchor(l *Ledger) *anchor {
	return &anchor{l: l, signal: make(chan struct{}, 1), quit: make(chan struct{}),
		gone: make(chan struct{})}
}

func (a *anchor) tell() {
	select {
	case a.signal <- struct{}{}:
	default:
	}
}

// run saves at once after a quiet time and every second in a busy one.
func (a *anchor) run() {
	defer close(a.gone)
	for {
		select {
		case <-a.signal:
		case <-a.quit:
			return
		}
		if err := a.save(); err != nil {
			a.l.o.Log.Error("save anchor", "err", err)
		}
		select {
		case <-time.After(anchorEvery):
		case <-a.quit:
			return
		}
	}
}

func (a *anchor) stop() {
	close(a.quit)
	<-a.gone
}

func (a *anchor) save() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	c := a.l.checkpoint()
	signed, err := c.Sign(a.l.signer())
	if err != nil {
		return err
	}
	if err := durable.WriteFile(a.l.o.Dir, anchorFile, signed); err != nil {
		return fmt.Errorf("save anchor: %w", err)
	}
	a.saved.Store(c.Size)
	return nil
}

// readAnchor returns the anchor's note, nil if there is none.
func readAnchor(dir string) ([]byte, error) {
	signed, err := os.ReadFile(filepath.Join(dir, anchorFile))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read anchor: %w", err)
	}
	return signed, nil
}

// holdsAnchor reports whether the tree goes on from the anchor.
func (l *Ledger) holdsAnchor(signed []byte) error {
	if signed == nil {
		if l.Size() > 0 {
			l.o.Log.Warn("the anchor is missing: whether the ledger went back cannot be told")
		}
		return nil
	}
	a, err := openCheckpoint(signed, l.keys.entries)
	if err != nil || a.Origin != l.identity.Origin {
		return damaged(err, "The anchor was not signed by a key of this ledger.")
	}
	size, hashes := l.Hashes()
	if a.Size > size {
		return damaged(nil, "The ledger went back: it holds %d records and has held %d.", size, a.Size)
	}
	then, err := proof.NewCheckpoint(a.Origin, a.Size, hashes)
	if err != nil {
		return damaged(err, "The tree of hashes cannot be read.")
	}
	if then.Root != a.Root {
		return damaged(nil, "The first %d records are not those that the anchor was signed for.", a.Size)
	}
	return nil
}
