package durable

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
)

// Scratch is a folder of temporary files that nobody needs after a crash: what is
// too large to hold while it is made. It is not synced.
type Scratch struct {
	dir   string
	files int
}

// NewScratch makes one where the system keeps temporary files.
func NewScratch() (*Scratch, error) {
	dir, err := os.MkdirTemp("", "tidemark-")
	if err != nil {
		return nil, fmt.Errorf("make temporary folder: %w", err)
	}
	return &Scratch{dir: dir}, nil
}

// ScratchFile is a temporary file.
type ScratchFile interface {
	io.ReadWriteSeeker
	io.Closer
	Name() string
}

// Create makes a file that only this account reads.
func (s *Scratch) Create() (ScratchFile, error) {
	s.files++
	f, err := os.OpenFile(filepath.Join(s.dir, strconv.Itoa(s.files)), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("make temporary file: %w", err)
	}
	return f, nil
}

// Open reads a file that Create made, by its Name.
func (s *Scratch) Open(name string) (io.ReadCloser, error) { return os.Open(name) }

// Remove takes one file away.
func (s *Scratch) Remove(name string) error { return os.Remove(name) }

// Close takes everything away.
func (s *Scratch) Close() error {
	if err := os.RemoveAll(s.dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("remove temporary folder: %w", err)
	}
	return nil
}
