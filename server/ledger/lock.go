package ledger

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"golang.org/x/sys/unix"

	"tidemark/server/fault"
)

const lockFile = "lock"

// lock keeps a second process out of the folder, and tells it who is in.
type lock struct{ file *os.File }

func takeLock(dir string) (*lock, error) {
	name := filepath.Join(dir, lockFile)
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("take lock: %w", err)
	}
	err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if err == unix.EWOULDBLOCK {
		_ = f.Close()
		return nil, inUse(dir)
	}
	if err == nil {
		err = writeOwner(f)
	}
	if err != nil {
		return nil, fmt.Errorf("take lock: %w", errors.Join(err, f.Close()))
	}
	return &lock{f}, nil
}

func writeOwner(f *os.File) error {
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err := f.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

func inUse(dir string) error {
	owner, _ := os.ReadFile(filepath.Join(dir, lockFile)) // only to be helpful
	return fault.New(fault.Busy, "The data folder %s is in use by process %s. Stop that first.",
		dir, strings.TrimSpace(string(owner)))
}

// release lets go of the folder. The file stays: removing it would let two in.
func (l *lock) release() error {
	if err := l.file.Close(); err != nil {
		return fmt.Errorf("release lock: %w", err)
	}
	return nil
}
