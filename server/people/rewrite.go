package people

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"

	"tidemark/server/durable"
	"tidemark/server/fault"
)

// copyStep is how many bytes are copied in one transaction.
const copyStep = 1 << 20

// oweRewrite notes, with the deletion that needs it, that free pages hold
// something private. The note lasts until a copy without it is in place.
func oweRewrite(tx *bbolt.Tx) error {
	return tx.Bucket(bucketMeta).Put(keyOwed, []byte{1})
}

// payRewrite writes the file anew if that is owed. The caller holds write.
func (s *Store) payRewrite() error {
	owed := false
	err := s.view(func(tx *bbolt.Tx) error {
		owed = tx.Bucket(bucketMeta).Get(keyOwed) != nil
		return nil
	})
	if err != nil || !owed {
		return err
	}
	return s.rewrite()
}

// rewrite puts a copy of the live rows in the file's place. Each file is locked
// from before it has the name until after it lost it, so no other process gets
// between; reading goes on in the old one until the swap. The caller holds
// write.
func (s *Store) rewrite() error {
	temp := s.path + newSuffix
	fresh, err := s.copyTo(temp)
	if err != nil {
		return notRewritten(err)
	}
	if err := os.Rename(temp, s.path); err != nil {
		return notRewritten(errors.Join(err, fresh.Close(), os.Remove(temp)))
	}
	s.swap.Lock()
	old := s.db
	s.db = fresh
	s.swap.Unlock()
	if err := durable.SyncDir(filepath.Dir(s.path)); err != nil {
		return errors.Join(s.failed(err), old.Close())
	}
	return old.Close()
}

// notRewritten is for what went wrong before the swap: the old file stands, and
// the note that a rewrite is owed stands in it.
func notRewritten(err error) error {
	code := fault.NotConfirmed
	if durable.NoRoom(err) {
		code = fault.Full
	}
	return fault.Wrap(fmt.Errorf("rewrite people: %w", err), code,
		"What was removed can no longer be read, but traces of it are still in the file. "+
			"Make room on the disk and try again, or restart tidemark.")
}

// copyTo makes a file of the live rows, without the note of a rewrite and
// without the rows of the buckets named, synced and open. The caller holds
// write.
func (s *Store) copyTo(path string, without ...[]byte) (fresh *bbolt.DB, err error) {
	if fresh, err = openFile(path); err != nil {
		return nil, err
	}
	fresh.NoSync = true // one sync, at the end
	err = bbolt.Compact(fresh, s.db, copyStep)
	if err == nil {
		err = fresh.Update(func(tx *bbolt.Tx) error { return leaveOut(tx, without) })
	}
	if err == nil {
		err = fresh.Sync()
	}
	if err != nil {
		return nil, errors.Join(err, fresh.Close(), os.Remove(path))
	}
	fresh.NoSync = false
	return fresh, nil
}

func leaveOut(tx *bbolt.Tx, without [][]byte) error {
	for _, name := range without {
		if err := tx.DeleteBucket(name); err != nil {
			return err
		}
		if _, err := tx.CreateBucket(name); err != nil {
			return err
		}
	}
	return tx.Bucket(bucketMeta).Delete(keyOwed)
}

// Snapshot writes a consistent people.db to w, free pages left behind. It is
// copied to a file beside the store first, while changes wait (half a second
// for 100,000 values of 100 bytes) and reading goes on; then w may be as slow as it likes.
//
// Sessions, enrolment codes and the set-up link are left out: a restore must
// not bring back what was ended since. Devices come back as they were; those
// revoked since, and values erased since, are for the caller to name again.
func (s *Store) Snapshot(w io.Writer) error {
	file, err := s.snapshotFile()
	if err != nil {
		return fmt.Errorf("snapshot people: %w", err)
	}
	_, err = io.Copy(w, file)
	if err = errors.Join(err, file.Close()); err != nil {
		return fmt.Errorf("snapshot people: %w", err)
	}
	return nil
}

// snapshotFile makes the copy and returns it open, its name gone already, so
// that it ends with the reader whatever happens.
func (s *Store) snapshotFile() (*os.File, error) {
	s.write.Lock()
	defer s.write.Unlock()
	temp := s.path + snapshotSuffix
	copied, err := s.copyTo(temp, bucketSessions, bucketEnrolments, bucketSetup)
	if err != nil {
		return nil, err
	}
	file, err := os.Open(temp)
	return file, errors.Join(err, copied.Close(), os.Remove(temp))
}
