package ledger

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/durable"
	"tidemark/server/record"
)

const ledgerFile = "ledger.db"

// Open opens the ledger in a folder, or makes one there. It returns a fault if
// the folder is in use, not for this program or without its key, and a *Damage
// if what is there is not what was stored. It looks from outside to inside: the
// lock, the file's length and both its beginnings, whose ledger it is, the
// anchor, whether a commit ended in doubt, the snapshot, the records since.
func Open(o Options) (*Ledger, error) {
	o = o.withDefaults()
	lock, err := takeLock(o.Dir)
	if err != nil {
		return nil, err
	}
	l := &Ledger{o: o, lock: lock, queue: newQueue[*item](),
		writer: writer{stopped: make(chan struct{}), group: newGroup(),
			dirty: map[record.Subject]struct{}{}},
		now: state{subjects: map[record.Subject]entry{}}}
	l.anchor = newAnchor(l)
	if err := l.open(); err != nil {
		if l.db != nil {
			err = errors.Join(err, l.db.Close())
		}
		return nil, errors.Join(err, lock.release())
	}
	go l.write()
	go l.anchor.run()
	return l, nil
}

func (l *Ledger) open() error {
	if err := sweep(l.o.Dir); err != nil {
		return err
	}
	name := filepath.Join(l.o.Dir, ledgerFile)
	in, err := inspect(name)
	if err != nil {
		return err
	}
	signed, err := readAnchor(l.o.Dir)
	if err != nil {
		return err
	}
	if in.size == 0 && signed != nil {
		return damaged(nil, "ledger.db is missing or empty, though there were records.")
	}
	doubt, err := l.replaceSuspect(name)
	if err != nil {
		return err
	}
	if l.db, err = openStore(name); err != nil {
		return err
	}
	if l.file, err = watchFile(name); err != nil {
		return err
	}
	if err := l.identify(); err != nil {
		return err
	}
	if err := l.load(signed, doubt); err != nil {
		return err
	}
	if in.good == 1 {
		l.o.Log.Warn("one of the two beginnings of ledger.db was damaged; " +
			"nothing that the anchor knows of is missing")
	}
	if err := l.settle(); err != nil {
		return err
	}
	if err := l.recallWitness(); err != nil {
		return err
	}
	return l.openViews()
}

// sweep removes what a killed process left unfinished.
func sweep(dir string) error {
	if _, err := durable.Sweep(dir); err != nil {
		return err
	}
	left, err := filepath.Glob(filepath.Join(dir, backupTemp+"*"))
	for _, name := range left {
		err = errors.Join(err, os.RemoveAll(name))
	}
	if err != nil {
		return fmt.Errorf("sweep %s: %w", dir, err)
	}
	return nil
}

// openStore opens the file. Damage can make bbolt panic as soon as here; the
// process should end then, because the file stays locked.
func openStore(name string) (db *bolt.DB, err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = damaged(fmt.Errorf("open store: %v", p), "ledger.db is damaged.")
		}
	}()
	db, err = bolt.Open(name, 0o600, boltOptions())
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	return db, nil
}

// identify reads whose ledger it is, or makes it one.
func (l *Ledger) identify() error {
	found := false
	err := l.view(func(tx *bolt.Tx) (err error) {
		if tx.Bucket(inMeta) == nil {
			return nil
		}
		found = true
		if l.identity, err = readIdentity(tx, l.o.Dir); err != nil {
			return err
		}
		l.keys, err = loadKeys(tx, l.o)
		return err
	})
	if err != nil {
		return err
	}
	if found {
		return l.identity.fits(l.o)
	}
	return l.create()
}

// create makes an empty ledger: its key first, all else in one transaction.
func (l *Ledger) create() error {
	id, err := newIdentity(l.o)
	if err != nil {
		return err
	}
	signer, public, err := newKey(l.o, id.Origin)
	if err != nil {
		return err
	}
	l.identity = id
	l.keys = &keys{l.o.Keys, signer, []KeyEntry{{Public: public}}}
	return l.update(func(tx *bolt.Tx) error {
		for _, name := range buckets() {
			if _, err := tx.CreateBucket(name); err != nil {
				return fmt.Errorf("create %s: %w", name, err)
			}
		}
		if err := putJSON(tx, metaKeys, l.keys.entries); err != nil {
			return err
		}
		return putJSON(tx, metaIdentity, id)
	})
}

// settle ends the start: a key to sign with, the mark of doubt taken away, and
// an anchor for what stands.
func (l *Ledger) settle() error {
	if err := l.readyKey(); err != nil {
		return err
	}
	err := os.Remove(filepath.Join(l.o.Dir, suspectFile))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("remove mark of doubt: %w", err)
	}
	if err := l.anchor.save(); !durable.NoRoom(err) {
		return err
	}
	l.o.Log.Warn("the disk is full or read-only: records can be read, but none stored")
	return nil
}
