package durable

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// ErrWrongContent says that a file no longer holds what its name says.
var ErrWrongContent = errors.New("content is not what the name says")

// Folder keeps files under the SHA-256 of their content, 64 lower-case hex
// digits, in subfolders named by the first two of them. What is in it never
// changes. It is safe for concurrent use by one process.
type Folder struct {
	dir string
	w   Writer
}

// OpenFolder opens the folder dir and makes it if it is not there; the folder
// around it must be.
func OpenFolder(dir string) (*Folder, error) { return Writer{OS{}}.OpenFolder(dir) }

// OpenFolder is the OpenFolder of the package.
func (w Writer) OpenFolder(dir string) (*Folder, error) {
	if err := w.mkdir(dir); err != nil {
		return nil, fmt.Errorf("open folder: %w", err)
	}
	return &Folder{dir, w}, nil
}

// mkdir makes sure that the folder dir is there, and will be.
func (w Writer) mkdir(dir string) error {
	if err := w.Files.Mkdir(dir); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	// One that was there already may be as young as a power cut ago.
	return w.syncDir(filepath.Dir(dir))
}

// Put stores data and returns its name. Data that is there already is made
// certain to stay; a damaged file of that name is replaced.
func (f *Folder) Put(data []byte) (name string, err error) {
	sum := sha256.Sum256(data)
	name = hex.EncodeToString(sum[:])
	shard := filepath.Join(f.dir, name[:2])
	if err := f.w.mkdir(shard); err != nil {
		return "", fmt.Errorf("put file: %w", err)
	}
	held, err := os.ReadFile(filepath.Join(shard, name))
	if err == nil && bytes.Equal(held, data) {
		err = f.w.syncDir(shard)
	} else {
		err = f.w.WriteFile(shard, name, data)
	}
	if err != nil {
		return "", fmt.Errorf("put file: %w", err)
	}
	return name, nil
}

// PutFrom stores what r gives, without holding it in memory, and returns its name
// and size.
func (f *Folder) PutFrom(r io.Reader) (name string, size int64, err error) {
	temp, sum, size, err := f.w.copyTemp(f.dir, r)
	if err != nil {
		return "", 0, fmt.Errorf("put file: %w", err)
	}
	name = hex.EncodeToString(sum)
	shard := filepath.Join(f.dir, name[:2])
	if err = f.w.mkdir(shard); err == nil {
		err = f.w.Files.Rename(temp, filepath.Join(shard, name))
	}
	if err != nil {
		return "", 0, fmt.Errorf("put file: %w", errors.Join(err, f.w.discard(temp)))
	}
	return name, size, f.w.syncDir(shard)
}

// Seek opens a file to read parts of it. Damage does not show: read it by Open
// once before.
func (f *Folder) Seek(name string) (io.ReadSeekCloser, error) {
	path, err := f.path(name)
	if err != nil {
		return nil, err
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open file: %w", err)
	}
	return file, nil
}

// Read returns the content of a file: ErrWrongContent if it is damaged,
// fs.ErrNotExist if there is none.
func (f *Folder) Read(name string) ([]byte, error) {
	r, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	return data, nil
}

// Open opens a file for reading piece by piece. Only at its end can damage
// show: then Read returns ErrWrongContent in place of io.EOF.
func (f *Folder) Open(name string) (io.ReadCloser, error) {
	path, err := f.path(name)
	if err != nil {
		return nil, err
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("open file: %w", err)
	}
	return &checked{file, name, sha256.New()}, nil
}

// Has reports whether there is a file of that name, without reading it.
func (f *Folder) Has(name string) (bool, error) {
	path, err := f.path(name)
	if err != nil {
		return false, err
	}
	if _, err := os.Stat(path); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return false, nil
		}
		return false, fmt.Errorf("look for file: %w", err)
	}
	return true, nil
}

// Delete removes a file for good. One that is not there is fine.
func (f *Folder) Delete(name string) error {
	path, err := f.path(name)
	if err != nil {
		return err
	}
	if err := f.w.discard(path); err != nil {
		return fmt.Errorf("delete file: %w", err)
	}
	err = f.w.syncDir(filepath.Dir(path))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("delete file: %w", err)
	}
	return nil
}

// Walk calls visit with every file, in order of name, until it returns an
// error. It does not read them. What is not named as a file of this folder is
// passed over.
func (f *Folder) Walk(visit func(name string, info fs.FileInfo) error) error {
	err := fs.WalkDir(os.DirFS(f.dir), ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		want, err := f.path(e.Name())
		if err != nil || want != filepath.Join(f.dir, path) {
			return nil
		}
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) {
			return nil // deleted meanwhile
		}
		if err != nil {
			return err
		}
		return visit(e.Name(), info)
	})
	if err != nil {
		return fmt.Errorf("walk folder: %w", err)
	}
	return nil
}

// Sweep removes the temporary files a killed process left and returns how many
// there were. Call it before the first Put.
func (f *Folder) Sweep() (int, error) {
	entries, err := os.ReadDir(f.dir)
	if err != nil {
		return 0, fmt.Errorf("sweep: %w", err)
	}
	removed, err := f.w.sweep(f.dir)
	if err != nil {
		return removed, err
	}
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		n, err := f.w.sweep(filepath.Join(f.dir, e.Name()))
		if removed += n; err != nil {
			return removed, err
		}
	}
	return removed, nil
}

// path returns where the file of a name is, and refuses what is no name.
func (f *Folder) path(name string) (string, error) {
	sum, err := hex.DecodeString(name)
	if err != nil || len(sum) != sha256.Size || hex.EncodeToString(sum) != name {
		return "", fmt.Errorf("find file: %q is not a SHA-256 in hex", name)
	}
	return filepath.Join(f.dir, name[:2], name), nil
}

// checked is an open file that is hashed as it is read.
type checked struct {
	file *os.File
	name string
	sum  hash.Hash
}

func (c *checked) Read(b []byte) (int, error) {
	n, err := c.file.Read(b)
	c.sum.Write(b[:n])
	if err == io.EOF && hex.EncodeToString(c.sum.Sum(nil)) != c.name {
		return n, fmt.Errorf("read file %s: %w", c.name, ErrWrongContent)
	}
	return n, err
}

func (c *checked) Close() error { return c.file.Close() }
