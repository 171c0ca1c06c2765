package durable

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

const tempPrefix = ".new-"

// WriteFile stores data as the file name in dir, in place of what was there,
// with the promises of the package. The file is readable by this account only.
func WriteFile(dir, name string, data []byte) error {
	return Writer{OS{}}.WriteFile(dir, name, data)
}

// SyncDir makes the entries of a folder durable.
func SyncDir(dir string) error { return Writer{OS{}}.syncDir(dir) }

// Sweep removes the temporary files a killed process left in dir and returns
// how many there were. Call it while nothing is being written there.
func Sweep(dir string) (int, error) { return Writer{OS{}}.sweep(dir) }

// Writer writes files durably through the given Files.
type Writer struct{ Files Files }

// WriteFile is the WriteFile of the package.
func (w Writer) WriteFile(dir, name string, data []byte) error {
	if !isName(name) {
		return fmt.Errorf("write file: %q is not the name of a file", name)
	}
	temp, err := w.writeTemp(dir, data)
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	if err := w.Files.Rename(temp, filepath.Join(dir, name)); err != nil {
		// A rename that reports failure may have happened: then there is
		// nothing to remove and the error stands.
		return fmt.Errorf("write %s: %w", name, errors.Join(err, w.discard(temp)))
	}
	return w.syncDir(dir)
}

// isName reports whether name is one step into a folder, and not that of a
// temporary file.
func isName(name string) bool {
	return fs.ValidPath(name) && name != "." && filepath.Base(name) == name &&
		!strings.HasPrefix(name, tempPrefix)
}

// writeTemp makes a temporary file in dir that holds data on disk. It leaves
// none behind when it fails.
func (w Writer) writeTemp(dir string, data []byte) (string, error) {
	file, err := w.Files.CreateTemp(dir, tempPrefix)
	if err != nil {
		return "", err
	}
	n, err := file.Write(data)
	if err == nil && n < len(data) {
		err = io.ErrShortWrite
	}
	if err == nil {
		err = file.Sync()
	}
	if err = errors.Join(err, file.Close()); err != nil {
		return "", errors.Join(err, w.discard(file.Name()))
	}
	return file.Name(), nil
}

// copyTemp makes a temporary file in dir of what r gives, and returns its path, the
// SHA-256 of it and its size. It leaves none behind when it fails.
func (w Writer) copyTemp(dir string, r io.Reader) (temp string, sum []byte, size int64, err error) {
	file, err := w.Files.CreateTemp(dir, tempPrefix)
	if err != nil {
		return "", nil, 0, err
	}
	hash := sha256.New()
	size, err = io.Copy(io.MultiWriter(file, hash), r)
	if err == nil {
		err = file.Sync()
	}
	if err = errors.Join(err, file.Close()); err != nil {
		return "", nil, 0, errors.Join(err, w.discard(file.Name()))
	}
	return file.Name(), hash.Sum(nil), size, nil
}

// discard removes a temporary file that may be gone already.
func (w Writer) discard(temp string) error {
	if err := w.Files.Remove(temp); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func (w Writer) syncDir(dir string) error {
	if err := w.Files.SyncDir(dir); err != nil {
		return fmt.Errorf("sync folder: %w", err)
	}
	return nil
}

func (w Writer) sweep(dir string) (int, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return 0, fmt.Errorf("sweep: %w", err)
	}
	removed := 0
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), tempPrefix) {
			continue
		}
		if err := w.discard(filepath.Join(dir, e.Name())); err != nil {
			return removed, fmt.Errorf("sweep: %w", err)
		}
		removed++
	}
	return removed, nil
}
