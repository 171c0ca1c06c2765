// Package faulty is a disk that fails on purpose, for the tests of rooms that
// write through server/durable. It changes real files; the one call that fails
// reports the error the operating system would, whether it was carried out or
// not.
package faulty

import (
	"io/fs"
	"os"
	"sync"

	"tidemark/server/durable"
)

// Disk is durable.OS but for one call. It is safe for concurrent use; set its
// fields before.
type Disk struct {
	durable.OS

	At   int   // the call that fails, counted from 1; none if 0
	Err  error // what it reports, a unix.Errno for example
	Done bool  // it is carried out all the same

	mu    sync.Mutex
	calls []string
}

// Calls returns the names of the calls so far: create, write, sync, close,
// rename, remove, mkdir, and sync folder.
func (d *Disk) Calls() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]string(nil), d.calls...)
}

// CreateTemp is call "create".
func (d *Disk) CreateTemp(dir, pattern string) (durable.File, error) {
	var file durable.File
	err := d.call("create", d.failure("open", dir), func() (err error) {
		file, err = d.OS.CreateTemp(dir, pattern)
		return err
	})
	if err == nil {
		return &temp{file, d}, nil
	}
	if file != nil {
		file.Close() // made all the same; nobody can write to it
	}
	return nil, err
}

// Rename is call "rename".
func (d *Disk) Rename(from, to string) error {
	failure := &os.LinkError{Op: "rename", Old: from, New: to, Err: d.Err}
	return d.call("rename", failure, func() error { return d.OS.Rename(from, to) })
}

// Remove is call "remove".
func (d *Disk) Remove(name string) error {
	return d.call("remove", d.failure("remove", name), func() error { return d.OS.Remove(name) })
}

// Mkdir is call "mkdir".
func (d *Disk) Mkdir(name string) error {
	return d.call("mkdir", d.failure("mkdir", name), func() error { return d.OS.Mkdir(name) })
}

// SyncDir is call "sync folder".
func (d *Disk) SyncDir(dir string) error {
	return d.call("sync folder", d.failure("sync", dir), func() error { return d.OS.SyncDir(dir) })
}

// call counts one call, carries it out unless it fails undone, and returns
// failure if it is its turn.
func (d *Disk) call(name string, failure error, do func() error) error {
	d.mu.Lock()
	d.calls = append(d.calls, name)
	fails := len(d.calls) == d.At
	d.mu.Unlock()
	if fails && !d.Done {
		return failure
	}
	err := do()
	if fails {
		return failure
	}
	return err
}

func (d *Disk) failure(op, path string) error {
	return &fs.PathError{Op: op, Path: path, Err: d.Err}
}

// temp is an open temporary file on a Disk.
type temp struct {
	durable.File
	disk *Disk
}

// Write is call "write". If it fails undone, half the bytes are written, as on
// a disk that runs full.
func (t *temp) Write(b []byte) (n int, err error) {
	written := false
	err = t.disk.call("write", t.disk.failure("write", t.Name()), func() (err error) {
		written = true
		n, err = t.File.Write(b)
		return err
	})
	if !written {
		n, _ = t.File.Write(b[:len(b)/2])
	}
	return n, err
}

// Sync is call "sync".
func (t *temp) Sync() error {
	return t.disk.call("sync", t.disk.failure("sync", t.Name()), t.File.Sync)
}

// Close is call "close". If it fails, the file is closed all the same: close
// cannot be tried again.
func (t *temp) Close() error {
	closed := t.File.Close()
	return t.disk.call("close", t.disk.failure("close", t.Name()), func() error { return closed })
}
