package ledger

import (
	"crypto/rand"
	"errors"
	"io"
	"log/slog"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Fold makes the state out of records.
type Fold struct {
	// Shape is a number that changes whenever a value's shape or Evolve does:
	// snapshots of another shape are not read.
	Shape int
	// Evolve applies a stored record. It never fails and sets whole new values.
	Evolve func(s record.Stage, r *record.Record)
	// Decode reads back a value of a subject that encoding/json has written.
	Decode func(t record.Type, b []byte) (any, error)
}

// Options are what a Ledger needs.
type Options struct {
	Dir    string           // the data folder; it must exist
	Keys   string           // folder of the signing key; Dir/keys if empty
	Fold   Fold             //
	Index  Index            // what else records are found by; nothing if empty
	Origin string           // first part of a new ledger's name; "tidemark" if empty
	Demo   bool             // the folder is, or becomes, one for trying things out
	NewKey bool             // the key was lost: go on with a new one
	Recent record.Seq       // how many ids are found in memory; 16,384 if 0
	Clock  func() time.Time // time.Now if nil
	Random io.Reader        // crypto/rand if nil
	Log    *slog.Logger     // nothing is logged if nil
	// Progress is told now and then how many of how many records a start has
	// read again. A start reads few, unless the fold's shape has changed.
	Progress func(done, of int64)
	// Stored is told of each commit: how many records, and how long it took.
	Stored func(records int, took time.Duration)
	// Fail is called once, in a goroutine of its own, when a commit ended in
	// doubt: nothing more is stored and the process has to stop and start again.
	Fail func(error)
}

// Ledger is an open ledger. Its methods may be called from any goroutine.
type Ledger struct {
	o        Options
	identity Identity
	lock     *lock
	db       *bolt.DB
	file     *openFile  // what db has open
	updating sync.Mutex // one transaction at a time, and what comes of it
	queue    *queue[*item]
	writer   writer
	tally    tally // of the outbox
	anchor   *anchor
	views    *views // nil without an index
	keys     *keys
	rotating sync.RWMutex // held while the key is changed, or must not be

	gate    sync.RWMutex // held for reading while something is queued
	closed  bool         // guarded by gate
	broken  atomic.Pointer[fault.Error]
	back    atomic.Pointer[Damage] // what a witness has seen; nil as long as none was lost
	sight   atomic.Pointer[Sight]  // the newest that was signed
	signing sync.Mutex             // held while the next one is
	roots   rootMemo
	counts  counts

	mu  sync.RWMutex // guards now; only the writer changes it
	now state

	watch watchers
}

func (o Options) withDefaults() Options {
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.Random == nil {
		o.Random = rand.Reader
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Fail == nil {
		o.Fail = func(error) {}
	}
	if o.Progress == nil {
		o.Progress = func(int64, int64) {}
	}
	if o.Recent == 0 {
		o.Recent = defaultRecent
	}
	if o.Origin == "" {
		o.Origin = "tidemark"
	}
	if o.Keys == "" {
		o.Keys = filepath.Join(o.Dir, "keys")
	}
	return o
}

// Close waits for what is queued, takes a snapshot and closes the store. After
// a commit that ended in doubt it only lets go of the folder.
func (l *Ledger) Close() error {
	l.gate.Lock()
	already := l.closed
	l.closed = true
	l.gate.Unlock()
	if already {
		return nil
	}
	close(l.queue.done)
	<-l.writer.stopped
	return l.shut()
}

func (l *Ledger) shut() error {
	err := l.views.close()
	if l.broken.Load() != nil {
		l.anchor.stop()
		return errors.Join(err, l.lock.release()) // the store may hold its own lock for ever
	}
	err = errors.Join(err, l.saveSnapshot())
	l.anchor.stop()
	return errors.Join(err, l.anchor.save(), l.db.Close(), l.lock.release())
}
