package ledger

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/proof"
)

// Restoring is where to restore a backup to.
type Restoring struct {
	Dir string // must not exist, or be empty; the folder around it must exist
	// Verification of what was restored; its Dir is not used.
	Verification
	// Why is what is written beside each undelivered message, which is parked for
	// a person to decide.
	Why string
}

// Restore makes a data folder out of a backup. It overwrites nothing: all is
// unpacked beside the folder, compared with the manifest, verified as Verify
// does, and only then put in place. Messages that were not delivered when the
// backup was made are parked. The keys are not in a backup: put them back into
// the folder, or start with Options.NewKey.
func Restore(from io.Reader, r Restoring) (Report, error) {
	if err := vacant(r.Dir); err != nil {
		return Report{}, err
	}
	temp, err := os.MkdirTemp(filepath.Dir(filepath.Clean(r.Dir)), ".restoring-")
	if err != nil {
		return Report{}, fmt.Errorf("restore: %w", err)
	}
	report, err := r.into(temp, from)
	if err == nil {
		err = putInPlace(temp, r.Dir)
	}
	if err != nil {
		return report, errors.Join(err, os.RemoveAll(temp))
	}
	return report, nil
}

func vacant(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("look at %s: %w", dir, err)
	}
	if len(entries) > 0 {
		return fault.New(fault.Conflict, "%s is not empty. Nothing was restored and nothing "+
			"overwritten: name a folder that does not exist yet.", dir)
	}
	return nil
}

// putInPlace gives the unpacked folder its name.
func putInPlace(temp, dir string) error {
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) { // an empty one
		return fmt.Errorf("restore: %w", err)
	}
	if err := os.Rename(temp, dir); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	return durable.SyncDir(filepath.Dir(filepath.Clean(dir)))
}

func (r Restoring) into(dir string, from io.Reader) (Report, error) {
	files, manifest, err := unpack(dir, from)
	if err != nil {
		return Report{}, err
	}
	if err := checkManifest(dir, files, manifest); err != nil {
		return Report{}, err
	}
	v := r.Verification
	v.Dir = dir
	report, err := Verify(v)
	if err != nil {
		return report, err
	}
	if len(report.Wrong) > 0 {
		return report, unusable(errors.New(strings.Join(report.Wrong, " ")),
			"The ledger in the backup is damaged.")
	}
	return report, parkAll(filepath.Join(dir, ledgerFile), r.Why)
}

// unusable says that a backup cannot be restored from.
func unusable(cause error, what string, args ...any) *Damage {
	d := damaged(cause, what, args...)
	d.Do = "Nothing was restored: use another backup."
	return d
}

// checkManifest compares what was unpacked with what the ledger's key has signed.
func checkManifest(dir string, files []proof.File, signed []byte) error {
	if signed == nil {
		return unusable(nil, "The backup is cut off: its manifest is missing.")
	}
	entries, err := storedKeys(dir)
	if err != nil {
		return unusable(err, "The ledger in the backup cannot be read.")
	}
	verifier, err := proof.NewVerifier(entries[len(entries)-1].Public)
	if err != nil {
		return unusable(err, "The key in the backup is damaged.")
	}
	m, err := proof.OpenManifest(signed, verifier)
	if err != nil {
		return unusable(err, "The manifest of the backup was not signed by the key of its ledger.")
	}
	slices.SortFunc(files, func(x, y proof.File) int { return strings.Compare(x.Name, y.Name) })
	if !slices.Equal(files, m.Files) {
		return unusable(nil, "The files in the backup are not those that its manifest lists.")
	}
	return nil
}

func storedKeys(dir string) (entries []KeyEntry, err error) {
	if _, err := inspect(filepath.Join(dir, ledgerFile)); err != nil {
		return nil, err
	}
	db, err := openReadOnly(dir)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	err = guarded(db, func(tx *bolt.Tx) error {
		if tx.Bucket(inMeta) == nil {
			return errors.New("it is empty")
		}
		ok, err := getJSON(tx, metaKeys, &entries)
		if err == nil && (!ok || len(entries) == 0) {
			err = errors.New("it names no key")
		}
		return err
	})
	return entries, err
}

// parkAll parks every message, so that a restored ledger does not send again
// what was delivered after the backup was made.
func parkAll(name, why string) error {
	db, err := openStore(name)
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bolt.Tx) error {
		var keys []Key
		c := tx.Bucket(inOutbox).Cursor()
		for k, v := c.First(); k != nil; k, v = c.Next() {
			p, err := readPending(k, v)
			if err != nil {
				return err
			}
			keys = append(keys, p.Key)
		}
		return park(tx, why, keys, func(move) {})
	})
	if err = errors.Join(err, db.Close()); err != nil {
		return fmt.Errorf("park messages: %w", err)
	}
	return nil
}
