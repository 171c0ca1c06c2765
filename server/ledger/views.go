package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Index says under which keys a record is to be found, besides its subject and
// its day: pouch lot, load, sealer number and date, month.
type Index struct {
	// Shape is a number that changes whenever Entries does: views of another
	// shape are made again.
	Shape int
	// Entries lists a record's keys, each with a few bytes that are worth having
	// without reading the record.
	Entries func(r *record.Record) []Entry
}

// Entry is one key of a record. A key holds no zero byte.
type Entry struct {
	Key   string
	Value []byte // may be empty; 24 to 40 bytes are a good summary
}

// Hit is an entry that was looked up.
type Hit struct {
	Entry
	Seq record.Seq
}

const (
	viewsFile  = "views.db"
	viewsBatch = 4096        // records that are applied in one transaction
	viewsEvery = time.Second // how far the views may be behind
	// viewsBehind is how many records a look-up reads at most itself; with more
	// to go, as after views.db was deleted, it says that it has to wait.
	viewsBehind = 20_000
)

// views are the look-ups derived from the records, in a file of their own that
// may be deleted. Random keys in ledger.db would slow down every commit.
type views struct {
	l       *Ledger
	db      *bolt.DB
	applied atomic.Int64 // records that are in the file
	quit    chan struct{}
	gone    chan struct{}
}

var inEntries = []byte("entries")

// viewsMeta says what the file was made from.
type viewsMeta struct {
	Site    record.ID  `json:"site"`
	Shape   int        `json:"shape"`
	Applied record.Seq `json:"applied"`
}

// Lookup returns what is found under the keys that begin with prefix, in order
// of key and then of record. It is exact: what is not in the views yet is read
// from the records. While the views are being made again it is a busy fault.
func (l *Ledger) Lookup(prefix string) ([]Hit, error) {
	if l.views == nil {
		return nil, errors.New("look up: the ledger was opened without an index")
	}
	hits, applied, err := l.views.read(prefix)
	if err != nil {
		return nil, fmt.Errorf("look up: %w", err)
	}
	size := record.Seq(l.Size())
	if size-applied > viewsBehind {
		return nil, fault.New(fault.Busy, "The look-ups are being made again: %d of %d records. "+
			"Try again in a minute.", applied, size)
	}
	err = l.Range(applied, size, func(r record.Record) error {
		for _, e := range l.o.Index.Entries(&r) {
			if strings.HasPrefix(e.Key, prefix) {
				hits = append(hits, Hit{e, r.Seq})
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look up: %w", err)
	}
	slices.SortStableFunc(hits, func(a, b Hit) int { return strings.Compare(a.Key, b.Key) })
	return hits, nil
}

func (v *views) read(prefix string) (hits []Hit, applied record.Seq, err error) {
	err = guarded(v.db, func(tx *bolt.Tx) error {
		var meta viewsMeta
		if _, err := getJSON(tx, metaIdentity, &meta); err != nil {
			return err
		}
		applied = meta.Applied
		c := tx.Bucket(inEntries).Cursor()
		for k, value := c.Seek([]byte(prefix)); bytes.HasPrefix(k, []byte(prefix)); k, value = c.Next() {
			split := len(k) - 9
			if split < len(prefix) {
				continue // the prefix reaches into the number
			}
			hits = append(hits, Hit{Entry{string(k[:split]), bytes.Clone(value)},
				record.Seq(number(k[split+1:]))})
		}
		return nil
	})
	return hits, applied, err
}

// openViews opens the file, or makes a new one if there is none, or one that is
// damaged or made from something else.
func (l *Ledger) openViews() error {
	if l.o.Index.Entries == nil {
		return nil
	}
	v := &views{l: l, quit: make(chan struct{}), gone: make(chan struct{})}
	name := filepath.Join(l.o.Dir, viewsFile)
	if err := v.open(name); err != nil {
		l.o.Log.Warn("making the look-ups again", "because", err)
		if v.db != nil {
			_ = v.db.Close() // it is removed
		}
		if err := os.Remove(name); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("remove look-ups: %w", err)
		}
		if err := v.open(name); err != nil {
			return fmt.Errorf("make look-ups: %w", err)
		}
	}
	l.views = v
	go v.run()
	return nil
}

func (v *views) open(name string) (err error) {
	if _, err := inspect(name); err != nil {
		return err
	}
	if v.db, err = openStore(name); err != nil {
		return err
	}
	want := viewsMeta{Site: v.l.identity.Site, Shape: v.l.o.Index.Shape}
	return v.db.Update(func(tx *bolt.Tx) error {
		if tx.Bucket(inMeta) == nil {
			for _, name := range [][]byte{inEntries, inMeta} {
				if _, err := tx.CreateBucket(name); err != nil {
					return err
				}
			}
			return putJSON(tx, metaIdentity, want)
		}
		var meta viewsMeta
		if _, err := getJSON(tx, metaIdentity, &meta); err != nil {
			return err
		}
		want.Applied = meta.Applied
		if meta != want || meta.Applied > v.l.now.size() {
			return errors.New("they were made from something else")
		}
		v.applied.Store(int64(meta.Applied))
		return nil
	})
}

// run applies what was committed, at most a second later.
func (v *views) run() {
	defer close(v.gone)
	signal, stop := v.l.Watch()
	defer stop()
	for {
		if err := v.catchUp(); err != nil {
			v.l.o.Log.Error("apply to look-ups", "err", err)
		}
		select {
		case <-signal:
		case <-v.quit:
			return
		}
		select {
		case <-time.After(viewsEvery / 2):
		case <-v.quit:
		}
	}
}

// catchUp applies all records that are not in the file, until the ledger is
// closed.
func (v *views) catchUp() error {
	for from := record.Seq(v.applied.Load()); from < record.Seq(v.l.Size()); {
		select {
		case <-v.quit:
			return nil
		default:
		}
		to := min(from+viewsBatch, record.Seq(v.l.Size()))
		if err := v.apply(from, to); err != nil {
			return err
		}
		v.applied.Store(int64(to))
		from = to
	}
	return nil
}

func (v *views) apply(from, to record.Seq) error {
	lines, err := v.l.lines(from, to)
	if err != nil {
		return err
	}
	records, err := parseAll(from, lines)
	if err != nil {
		return err
	}
	return v.db.Update(func(tx *bolt.Tx) error {
		b := tx.Bucket(inEntries)
		for i := range records {
			for _, e := range v.l.o.Index.Entries(&records[i]) {
				k := append(append([]byte(e.Key), 0), key(int64(records[i].Seq))...)
				if err := b.Put(k, e.Value); err != nil {
					return fmt.Errorf("put entry: %w", err)
				}
			}
		}
		return putJSON(tx, metaIdentity, viewsMeta{v.l.identity.Site, v.l.o.Index.Shape, to})
	})
}

func (v *views) close() error {
	if v == nil {
		return nil
	}
	close(v.quit)
	<-v.gone
	return v.db.Close()
}
