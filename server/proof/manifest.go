package proof

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// ManifestName is the file of a pack that holds the manifest. It is the only
// one that the manifest does not list.
const ManifestName = "manifest.txt"

const manifestTitle = "tidemark pack 1\n"

// Manifest lists what a pack of records holds, to the byte, and the checkpoint
// of the ledger it was drawn from. Files are in order of their names.
type Manifest struct {
	Checkpoint
	Files []File
}

// File is one file of a pack: a path of lower-case letters, digits and ".-_/",
// the number of bytes and their SHA-256.
type File struct {
	Name string
	Size int64
	Sum  [sha256.Size]byte
}

// NewFile describes a file of the given content.
func NewFile(name string, data []byte) File {
	return File{name, int64(len(data)), sha256.Sum256(data)}
}

// Sign returns the manifest as a note signed by the ledger's key.
func (m Manifest) Sign(key Signer) ([]byte, error) {
	if err := errors.Join(m.valid(), m.mayBeSignedBy(key)); err != nil {
		return nil, fmt.Errorf("sign manifest: %w", err)
	}
	return note.Sign(&note.Note{Text: m.text()}, key)
}

// OpenManifest returns the manifest in a note that the ledger's key, and no
// other, has signed.
func OpenManifest(signed []byte, key Verifier) (Manifest, error) {
	text, err := open(signed, key)
	if err != nil {
		return Manifest{}, fmt.Errorf("open manifest: %w", err)
	}
	m, err := parseManifest(text)
	if err == nil {
		err = m.mayBeSignedBy(key)
	}
	if err != nil {
		return Manifest{}, fmt.Errorf("open manifest: %w", err)
	}
	return m, nil
}

func (m Manifest) text() string {
	var b strings.Builder
	b.WriteString(manifestTitle + m.Checkpoint.Text())
	for _, f := range m.Files {
		fmt.Fprintf(&b, "%x %d %s\n", f.Sum, f.Size, f.Name)
	}
	return b.String()
}

func parseManifest(text string) (Manifest, error) {
	body, ok := strings.CutPrefix(text, manifestTitle)
	if !ok {
		return Manifest{}, errors.New("the first line is not that of a manifest")
	}
	c, rest, err := cutCheckpoint(body)
	if err != nil {
		return Manifest{}, err
	}
	m := Manifest{Checkpoint: c}
	for line := range strings.Lines(rest) {
		f, err := parseFile(strings.TrimSuffix(line, "\n"))
		if err != nil {
			return Manifest{}, err
		}
		m.Files = append(m.Files, f)
	}
	if m.text() != text {
		return Manifest{}, errors.New("not written as a manifest is")
	}
	if err := m.valid(); err != nil {
		return Manifest{}, err
	}
	return m, nil
}

func parseFile(line string) (File, error) {
	parts := strings.SplitN(line, " ", 3)
	if len(parts) < 3 {
		return File{}, fmt.Errorf("file line %q: want hash, size and name", line)
	}
	f := File{Name: parts[2]}
	sum, err := hex.DecodeString(parts[0])
	if err != nil || copy(f.Sum[:], sum) != len(f.Sum) {
		return File{}, fmt.Errorf("file line %q: not a hash", line)
	}
	if f.Size, err = strconv.ParseInt(parts[1], 10, 64); err != nil {
		return File{}, fmt.Errorf("file line %q: not a size", line)
	}
	return f, nil
}

// valid reports whether the files can stand in a manifest, in this order.
func (m Manifest) valid() error {
	for i, f := range m.Files {
		if !isFileName(f.Name) || f.Size < 0 {
			return fmt.Errorf("file %q of %d bytes cannot be in a pack", f.Name, f.Size)
		}
		if i > 0 && f.Name <= m.Files[i-1].Name {
			return fmt.Errorf("file %q does not come after %q", f.Name, m.Files[i-1].Name)
		}
	}
	return nil
}

// isFileName reports whether a name means the same on every file system.
func isFileName(name string) bool {
	odd := func(r rune) bool {
		return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyz0123456789.-_/", r)
	}
	hidden := func(step string) bool { return step == "" || step[0] == '.' }
	return !strings.ContainsFunc(name, odd) && name != ManifestName &&
		path.Clean(name) == name && !slices.ContainsFunc(strings.Split(name, "/"), hidden)
}
