package durable

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// Files is what this package asks of the operating system, one method for each
// call that can fail on its own. Tests put a failing one in its place.
type Files interface {
	// CreateTemp makes a new, empty file in dir, named as os.CreateTemp does.
	CreateTemp(dir, pattern string) (File, error)
	Rename(from, to string) error
	Remove(name string) error
	Mkdir(name string) error
	// SyncDir makes the entries of a folder durable.
	SyncDir(dir string) error
}

// File is an open temporary file.
type File interface {
	Name() string
	Write(b []byte) (int, error)
	Sync() error
	Close() error
}

// OS is the operating system's files.
type OS struct{}

// CreateTemp makes a file that only this account reads.
func (OS) CreateTemp(dir, pattern string) (File, error) { return os.CreateTemp(dir, pattern) }

// Rename replaces to by from in one step.
func (OS) Rename(from, to string) error { return os.Rename(from, to) }

// Remove takes a file away.
func (OS) Remove(name string) error { return os.Remove(name) }

// Mkdir makes a folder that only this account enters.
func (OS) Mkdir(name string) error { return os.Mkdir(name, 0o700) }

// SyncDir opens the folder to sync it, which is how it is done on Unix.
func (OS) SyncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// NoRoom reports whether err says that the disk is full, over quota or
// read-only and that nothing was stored: ENOSPC, EDQUOT, EFBIG or EROFS from
// anything but a sync. After a failed sync, whatever its reason, nobody knows
// what the disk holds, so a sync never counts; nor does a bare error number,
// which is how fdatasync reports. Such a write may be tried again without
// opening anything anew.
func NoRoom(err error) bool {
	var number unix.Errno
	if !errors.As(err, &number) {
		return false
	}
	switch number {
	case unix.ENOSPC, unix.EDQUOT, unix.EFBIG, unix.EROFS:
		return operation(err) != "" && operation(err) != "sync"
	}
	return false
}

// operation returns the name of the system call that failed, or nothing.
func operation(err error) string {
	var path *fs.PathError
	var link *os.LinkError
	var call *os.SyscallError
	switch {
	case errors.As(err, &path):
		return path.Op
	case errors.As(err, &link):
		return link.Op
	case errors.As(err, &call):
		return call.Syscall
	}
	return ""
}
