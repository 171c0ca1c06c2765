package ledger

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"sync"

	bolt "go.etcd.io/bbolt"
)

// tally knows how many messages wait and which are parked, so that a page need
// not look through an outbox of ten thousand. It is counted once, when somebody
// first asks and not at the start, and kept up with every transaction after that.
type tally struct {
	staged []move // of the transaction that is being made; guarded by Ledger.updating

	mu      sync.Mutex // guards what follows
	counted bool
	waiting int
	parked  map[Key]Pending
}

// move is what became of one message in a transaction; nil: it was not, or is no
// longer, in the outbox.
type move struct {
	key     Key
	was, is *Pending
}

func (t *tally) stage(m move) { t.staged = append(t.staged, m) }

// settle takes in what was staged, if it is on disk.
func (t *tally) settle(stored bool) {
	moves := t.staged
	t.staged = nil
	t.mu.Lock()
	defer t.mu.Unlock()
	if !stored || !t.counted {
		return
	}
	for _, m := range moves {
		t.waiting += waits(m.is) - waits(m.was)
		delete(t.parked, m.key)
		if m.is != nil && m.is.Parked != "" {
			t.parked[m.key] = *m.is
		}
	}
}

// waits is 1 for a message that is to be sent.
func waits(p *Pending) int {
	if p == nil || p.Parked != "" {
		return 0
	}
	return 1
}

func (t *tally) known() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.counted
}

// count looks through the outbox once.
func (l *Ledger) count() error {
	if l.tally.known() {
		return nil // without waiting for a transaction
	}
	l.updating.Lock() // no transaction in between
	defer l.updating.Unlock()
	l.tally.mu.Lock()
	defer l.tally.mu.Unlock()
	if l.tally.counted {
		return nil
	}
	waiting, parked := 0, map[Key]Pending{}
	err := l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inOutbox).Cursor()
		for k, v := c.First(); k != nil; k, v = c.Next() {
			if !looksParked(v) {
				waiting++
				continue
			}
			p, err := readPending(k, v)
			if err != nil {
				return err
			}
			parked[p.Key] = p
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("count outbox: %w", err)
	}
	l.tally.counted, l.tally.waiting, l.tally.parked = true, waiting, parked
	return nil
}

// looksParked tells a parked message from one that waits without decoding it:
// only the former has the field.
func looksParked(v []byte) bool { return bytes.Contains(v, []byte(`,"parked":`)) }

// Messages returns how many messages are to be sent and how many are parked.
func (l *Ledger) Messages() (waiting, parked int, err error) {
	if err := l.count(); err != nil {
		return 0, 0, err
	}
	l.tally.mu.Lock()
	defer l.tally.mu.Unlock()
	return l.tally.waiting, len(l.tally.parked), nil
}

// Parked returns up to limit messages that wait for a person to decide, the
// oldest first.
func (l *Ledger) Parked(limit int) ([]Pending, error) {
	if err := l.count(); err != nil {
		return nil, err
	}
	l.tally.mu.Lock()
	list := make([]Pending, 0, len(l.tally.parked))
	for _, p := range l.tally.parked {
		list = append(list, p)
	}
	l.tally.mu.Unlock()
	slices.SortFunc(list, func(a, b Pending) int { return cmp.Or(cmp.Compare(a.Seq, b.Seq), a.N-b.N) })
	return list[:min(limit, len(list))], nil
}
