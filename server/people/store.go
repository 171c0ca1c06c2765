package people

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"tidemark/server/durable"
	"tidemark/server/fault"
)

// ID is any id of the app: of a person, a device, a department, a problem. As
// an alias it takes and gives the id types of other rooms.
type ID = [16]byte

// Options are what a Store cannot know by itself.
type Options struct {
	// Rand gives salts, tokens and codes; nil is crypto/rand.
	Rand io.Reader
	// Pepper is the secret of the key folder, at least 16 bytes. Another
	// pepper makes every PIN and every enrolment code of the file unusable.
	Pepper []byte
	// Argon is the cost of a PIN from now on; zero is DefaultArgon. Rows keep
	// the cost they were made with.
	Argon Argon
}

// Store is an open people.db. Its methods may be called at the same time.
type Store struct {
	path   string
	rand   *source
	pepper []byte
	argon  Argon
	lane   lane
	codes  window // wrong enrolment codes

	// write is held by every change, around its transaction and around what
	// it changes in memory, so that the two never differ in order.
	write   sync.Mutex
	suspect bool // a commit failed in doubt; guarded by write

	// swap guards db against a rewrite, which puts another file in its place.
	swap sync.RWMutex
	db   *bbolt.DB

	sessions book[Session]
	devices  book[Device]
	revealed book[Revealed]
}

const (
	newSuffix      = ".new"      // a rewrite that was not finished
	snapshotSuffix = ".snapshot" // a copy that was not sent to its end
	suspectSuffix  = ".suspect"  // a commit failed in doubt: copy before use

	minPepper = 16

	// mapBytes is how much address space is set aside, 32 GiB where there is
	// room: with less, one reader stops the writer as soon as the file grows.
	mapBytes = 1 << (30 + 5*(^uint(0)>>63))
	// growBytes is the step by which the file grows.
	growBytes = 1 << 20
)

var (
	bucketMeta       = []byte("meta")
	bucketPINs       = []byte("pins")
	bucketMisses     = []byte("misses")
	bucketSessions   = []byte("sessions")
	bucketDevices    = []byte("devices")
	bucketEnrolments = []byte("enrolments")
	bucketSetup      = []byte("setup")
	bucketLinks      = []byte("links")
	bucketSealed     = []byte("sealed")
	bucketErased     = []byte("erased")
	bucketReports    = []byte("reports")
	bucketRefusals   = []byte("refusals")
	bucketStorages   = []byte("storages")

	buckets = [][]byte{
		bucketMeta, bucketPINs, bucketMisses, bucketSessions, bucketDevices, bucketEnrolments,
		bucketSetup, bucketLinks, bucketSealed, bucketErased, bucketReports, bucketRefusals,
		bucketStorages,
	}

	keyFormat = []byte("format")
	keyOwed   = []byte("rewrite owed")
)

const format = 1

// Open opens people.db at path, or makes it. A file that another process holds
// is fault.Busy. It finishes a rewrite that was cut short, so it may take as
// long as copying the file.
func Open(path string, o Options) (s *Store, err error) {
	if len(o.Pepper) < minPepper {
		return nil, fmt.Errorf("open people: the pepper has %d bytes, needs %d",
			len(o.Pepper), minPepper)
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	if o.Argon == (Argon{}) {
		o.Argon = DefaultArgon
	}
	if !o.Argon.possible() {
		return nil, fmt.Errorf("open people: %+v is no cost of a PIN", o.Argon)
	}
	s = &Store{
		path: path, rand: &source{r: o.Rand}, pepper: slices.Clone(o.Pepper), argon: o.Argon,
		lane: newLane(argonRunning, argonWaiting), codes: window{max: maxWrongCodes, per: codeLife},
	}
	// A cut file is read through memory that is not there.
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			s, err = nil, damaged(path, fmt.Errorf("%v", p))
		}
	}()
	if err := s.start(); err != nil {
		return nil, err
	}
	return s, nil
}

// Close ends the store. Nothing that was confirmed waits for it.
func (s *Store) Close() error {
	s.write.Lock()
	defer s.write.Unlock()
	s.swap.Lock()
	defer s.swap.Unlock()
	return s.db.Close()
}

func (s *Store) start() (err error) {
	if s.db, err = openFile(s.path); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.db.Close())
		}
	}()
	// The lock is held from here on, so what lies about is nobody's.
	for _, suffix := range []string{newSuffix, snapshotSuffix} {
		if err := removeIfThere(s.path + suffix); err != nil {
			return fmt.Errorf("open people: %w", err)
		}
	}
	if err := s.prepare(); err != nil {
		return err
	}
	if err := s.settle(); err != nil {
		return err
	}
	return s.view(func(tx *bbolt.Tx) error {
		return errors.Join(s.loadSessions(tx), s.loadDevices(tx))
	})
}

// openFile opens and locks a file with this package's options.
func openFile(path string) (*bbolt.DB, error) {
	if info, err := os.Stat(path); err == nil && info.Size() == 0 {
		return nil, damaged(path, errors.New("the file is empty"))
	}
	var file *os.File
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{
		Timeout:         time.Second,
		InitialMmapSize: mapBytes,
		FreelistType:    bbolt.FreelistMapType,
		OpenFile: func(name string, flag int, mode os.FileMode) (f *os.File, err error) {
			file, err = os.OpenFile(name, flag, mode)
			return file, err
		},
	})
	if errors.Is(err, bolterrors.ErrTimeout) {
		return nil, heldElsewhere(path)
	}
	if err != nil {
		return nil, fmt.Errorf("open people: %w", err)
	}
	db.AllocSize = growBytes
	if !samePlace(path, file) {
		return nil, errors.Join(heldElsewhere(path), db.Close())
	}
	if cut(db, file) {
		return nil, errors.Join(damaged(path, errors.New("the file was cut")), db.Close())
	}
	return db, nil
}

// cut reports whether the file is shorter than the pages it says it has.
func cut(db *bbolt.DB, file *os.File) bool {
	var pages int64
	err := db.View(func(tx *bbolt.Tx) error {
		pages = tx.Size()
		return nil
	})
	info, statErr := file.Stat()
	return err != nil || statErr != nil || info.Size() < pages
}

// samePlace reports whether file is what the path names now. It is not when
// its former owner put a rewritten file there while we waited for the lock.
func samePlace(path string, file *os.File) bool {
	named, err := os.Stat(path)
	if err != nil {
		return false
	}
	opened, err := file.Stat()
	return err == nil && os.SameFile(named, opened)
}

func heldElsewhere(path string) error {
	return fault.New(fault.Busy, "Another process holds the data folder %s. "+
		"Stop that one first, or use another folder.", filepath.Dir(path))
}

func damaged(path string, cause error) error {
	return fault.Wrap(cause, fault.Internal, "The file %s is damaged. Keep a copy of it and "+
		"restore the last backup; in a new folder, delete it and start again.", path)
}

// prepare makes the buckets of a new file and refuses the format of another
// release. It writes nothing to a file that has them: a full disk must not keep
// the app from starting.
func (s *Store) prepare() error {
	var found []byte
	whole := true
	err := s.view(func(tx *bbolt.Tx) error {
		for _, name := range buckets {
			whole = whole && tx.Bucket(name) != nil
		}
		if meta := tx.Bucket(bucketMeta); meta != nil {
			found = slices.Clone(meta.Get(keyFormat))
		}
		return nil
	})
	switch {
	case err != nil:
		return err
	case found == nil:
		return s.update(makeBuckets)
	case !slices.Equal(found, []byte{format}):
		return fmt.Errorf("open people: format %x is of another release", found)
	case !whole: // written before some bucket was known
		return s.update(makeBuckets)
	}
	return nil
}

func makeBuckets(tx *bbolt.Tx) error {
	for _, name := range buckets {
		if _, err := tx.CreateBucketIfNotExists(name); err != nil {
			return err
		}
	}
	return tx.Bucket(bucketMeta).Put(keyFormat, []byte{format})
}

// settle copies the file when its last owner could not be sure of it, or left
// a rewrite undone: what could not be synced then is written anew now.
func (s *Store) settle() error {
	s.write.Lock()
	defer s.write.Unlock()
	mark := s.path + suspectSuffix
	_, err := os.Stat(mark)
	if errors.Is(err, os.ErrNotExist) {
		// Without room it stays owed: the app starts, Sweep will see to it.
		if err := s.payRewrite(); !fault.Is(err, fault.Full) {
			return err
		}
		return nil
	}
	if err != nil {
		return fmt.Errorf("open people: %w", err)
	}
	if err := s.rewrite(); err != nil {
		return err
	}
	return os.Remove(mark)
}

// view reads in a transaction. Bytes of it die with it.
func (s *Store) view(read func(*bbolt.Tx) error) error {
	s.swap.RLock()
	defer s.swap.RUnlock()
	return s.db.View(read)
}

// update changes the file; an error of change itself leaves it as it was.
func (s *Store) update(change func(*bbolt.Tx) error) error {
	s.write.Lock()
	defer s.write.Unlock()
	return s.commit(change)
}

// commit is update for a caller that holds write.
func (s *Store) commit(change func(*bbolt.Tx) error) error {
	if s.suspect {
		return fault.New(fault.NotConfirmed, "Nothing can be stored until tidemark was started anew.")
	}
	var refused error
	err := s.db.Update(func(tx *bbolt.Tx) error {
		refused = change(tx)
		return refused
	})
	if err == nil || refused != nil {
		return err
	}
	return s.failed(err)
}

// failed sorts the error of a write. A full or read-only disk stored nothing.
// After anything else nobody can say what is on the disk, and reading it back
// proves nothing: no further change is taken, and the next Open copies the
// file before it is used. The caller holds write.
func (s *Store) failed(err error) error {
	if durable.NoRoom(err) {
		return fault.Wrap(err, fault.Full, "No room on the disk, or it is read-only. "+
			"Nothing was stored.")
	}
	s.suspect = true
	// Best effort: the same disk may refuse this, too.
	err = errors.Join(err, os.WriteFile(s.path+suspectSuffix, nil, 0o600))
	return fault.Wrap(err, fault.NotConfirmed, "Not confirmed: it may or may not be stored. "+
		"A retry is safe.")
}

func removeIfThere(path string) error {
	if err := os.Remove(path); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}
