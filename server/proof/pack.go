package proof

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"maps"
	"slices"
)

// Pack is an opened pack of records: a manifest and the files it lists, all of
// them checked.
type Pack struct {
	Manifest
	container *zip.Reader
}

// WritePack writes a pack of the given files, by name, with a manifest signed
// by the ledger's key. The same files and checkpoint give the same bytes.
func WritePack(w io.Writer, c Checkpoint, files map[string][]byte, key Signer) error {
	var contents []Content
	for _, name := range slices.Sorted(maps.Keys(files)) {
		data := files[name]
		contents = append(contents, Content{File: NewFile(name, data), CRC: crc32.ChecksumIEEE(data),
			Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }})
	}
	return WriteContents(w, c, contents, key)
}

// Content is a file of a pack that lies elsewhere than in memory: see Meter.
type Content struct {
	File
	CRC  uint32 // CRC-32 (IEEE)
	Open func() (io.ReadCloser, error)
}

// WriteContents is WritePack for files, in order of their names, that are too
// large to hold.
func WriteContents(w io.Writer, c Checkpoint, contents []Content, key Signer) error {
	m := Manifest{Checkpoint: c}
	parts := make([]part, 1, len(contents)+1)
	for _, f := range contents {
		m.Files = append(m.Files, f.File)
		parts = append(parts, part{f.Name, f.Size, f.CRC, f.Open})
	}
	signed, err := m.Sign(key)
	if err != nil {
		return fmt.Errorf("write pack: %w", err)
	}
	parts[0] = partOf(ManifestName, signed)
	if err := writeContainer(w, parts); err != nil {
		return fmt.Errorf("write pack: %w", err)
	}
	return nil
}

// OpenPack opens a pack of size bytes and checks all of them: the signature of
// the manifest, every file against it, and the container itself, which is made
// again from what it holds and compared.
func OpenPack(r io.ReaderAt, size int64, key Verifier) (*Pack, error) {
	container, err := zip.NewReader(r, size)
	if err != nil {
		return nil, fmt.Errorf("open pack: %w", err)
	}
	p := &Pack{container: container}
	signed, err := p.read(ManifestName, size)
	if err != nil {
		return nil, fmt.Errorf("open pack: %w", err)
	}
	if p.Manifest, err = OpenManifest(signed, key); err != nil {
		return nil, fmt.Errorf("open pack: %w", err)
	}
	if err := p.check(io.NewSectionReader(r, 0, size)); err != nil {
		return nil, fmt.Errorf("open pack: %w", err)
	}
	return p, nil
}

// Read returns the content of one of the files that the manifest lists.
func (p *Pack) Read(name string) ([]byte, error) {
	for _, f := range p.Files {
		if f.Name == name {
			return p.read(name, f.Size)
		}
	}
	return nil, fmt.Errorf("read pack: no file %s", name)
}

// read returns the content of a file of the container, at most limit bytes.
func (p *Pack) read(name string, limit int64) ([]byte, error) {
	f, err := p.container.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, limit+1))
}

// check makes the container again, hashing each file on the way, and compares
// it with whole.
func (p *Pack) check(whole io.Reader) error {
	entries := p.container.File
	if len(entries) != len(p.Files)+1 || entries[0].Name != ManifestName {
		return fmt.Errorf("%d files, the manifest lists %d", len(entries)-1, len(p.Files))
	}
	parts := make([]part, len(entries))
	for i, e := range entries {
		if e.Method != zip.Store {
			return errOther
		}
		parts[i] = part{e.Name, int64(e.UncompressedSize64), e.CRC32, e.Open}
	}
	for i, f := range p.Files {
		if err := f.check(parts[i+1]); err != nil {
			return err
		}
	}
	same := &comparer{want: whole}
	if err := writeContainer(same, parts); err != nil {
		return err
	}
	return same.end()
}

// check reports whether a part of the container is the file.
func (f File) check(p part) error {
	if p.name != f.Name || p.size != f.Size {
		return fmt.Errorf("%s of %d bytes is not %s of %d", p.name, p.size, f.Name, f.Size)
	}
	r, err := p.open()
	if err != nil {
		return fmt.Errorf("read %s: %w", f.Name, err)
	}
	defer r.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, r); err != nil {
		return fmt.Errorf("read %s: %w", f.Name, err)
	}
	if !bytes.Equal(sum.Sum(nil), f.Sum[:]) {
		return fmt.Errorf("%s is not the file that was signed", f.Name)
	}
	return nil
}

// part is one file of the container.
type part struct {
	name string
	size int64
	crc  uint32
	open func() (io.ReadCloser, error)
}

func partOf(name string, data []byte) part {
	open := func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }
	return part{name, int64(len(data)), crc32.ChecksumIEEE(data), open}
}

// firstDay is 1 January 1980, the earliest day a container can write down.
const firstDay = 1<<5 | 1

// writeContainer writes the parts as a zip file. They are stored as they are:
// squeezed bytes would depend on the version of the squeezer, and then nobody
// could make the container again.
func writeContainer(w io.Writer, parts []part) error {
	container := zip.NewWriter(w)
	for _, p := range parts {
		to, err := container.CreateRaw(&zip.FileHeader{
			Name: p.name, Method: zip.Store, ModifiedDate: firstDay, CRC32: p.crc,
			CompressedSize64: uint64(p.size), UncompressedSize64: uint64(p.size),
		})
		if err != nil {
			return fmt.Errorf("write %s: %w", p.name, err)
		}
		from, err := p.open()
		if err != nil {
			return fmt.Errorf("read %s: %w", p.name, err)
		}
		_, err = io.Copy(to, from)
		if err = errors.Join(err, from.Close()); err != nil {
			return fmt.Errorf("write %s: %w", p.name, err)
		}
	}
	return container.Close()
}

// comparer takes what is written and compares it with what want holds.
type comparer struct{ want io.Reader }

var errOther = errors.New("the container is not written as a pack is")

func (c *comparer) Write(b []byte) (int, error) {
	want := make([]byte, len(b))
	if _, err := io.ReadFull(c.want, want); err != nil || !bytes.Equal(want, b) {
		return 0, errOther
	}
	return len(b), nil
}

// end reports whether all of want was written.
func (c *comparer) end() error {
	if n, err := c.want.Read(make([]byte, 1)); n != 0 || err != io.EOF {
		return errOther
	}
	return nil
}
