package ledger

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tidemark/server/durable"
)

// replaceSuspect makes a new copy of a store whose last commit ended in doubt,
// and reports whether it did. After a failed sync the system may believe pages
// clean that never reached the disk: reading them proves nothing, writing them
// to new places does.
func (l *Ledger) replaceSuspect(name string) (bool, error) {
	_, err := os.Stat(filepath.Join(l.o.Dir, suspectFile))
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("look for mark of doubt: %w", err)
	}
	l.o.Log.Warn("the last commit ended in doubt: copying the store and checking all of it")
	if err := copyOver(name); err != nil {
		return false, fmt.Errorf("copy suspect store: %w", err)
	}
	return true, nil
}

// copyOver replaces a file by a new, synced copy of itself.
func copyOver(name string) error {
	from, err := os.Open(name)
	if err != nil {
		return err
	}
	defer from.Close()
	temp := name + ".copy"
	to, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(struct{ io.Writer }{to}, from) // no sharing of blocks
	if err == nil {
		err = to.Sync()
	}
	if err = errors.Join(err, to.Close()); err != nil {
		return errors.Join(err, os.Remove(temp))
	}
	if err := os.Rename(temp, name); err != nil {
		return err
	}
	return durable.SyncDir(filepath.Dir(name))
}
