package ledger

import (
	"archive/tar"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"tidemark/server/durable"
	"tidemark/server/proof"
)

// unpack writes the files of a backup into a folder, each synced.
func unpack(dir string, from io.Reader) (files []proof.File, manifest []byte, err error) {
	in := tar.NewReader(from)
	for {
		header, err := in.Next()
		if err == io.EOF {
			return files, manifest, nil
		}
		if err != nil {
			return nil, nil, unusable(err, "The backup is damaged or cut off.")
		}
		if header.Name == proof.ManifestName {
			if manifest, err = io.ReadAll(in); err != nil {
				return nil, nil, unusable(err, "The manifest of the backup is cut off.")
			}
			continue
		}
		f, err := unpackFile(dir, header, in)
		if err != nil {
			return nil, nil, err
		}
		files = append(files, f)
	}
}

func unpackFile(dir string, header *tar.Header, in io.Reader) (f proof.File, err error) {
	known := []string{ledgerFile, peopleFile, anchorFile}
	expected := slices.Contains(known, header.Name) || isStored(header.Name)
	if header.Typeflag != tar.TypeReg || !expected {
		return f, unusable(nil, "The backup holds %q, which does not belong into one.", header.Name)
	}
	name := filepath.Join(dir, filepath.FromSlash(header.Name))
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return f, fmt.Errorf("restore: %w", err)
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return f, fmt.Errorf("restore: %w", err)
	}
	defer file.Close()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(file, sum), in)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return f, unusable(err, "The backup is cut off in %s.", header.Name)
	}
	if err = errors.Join(err, file.Sync()); err != nil {
		return f, fmt.Errorf("restore %s: %w", header.Name, err)
	}
	return proof.File{Name: header.Name, Size: n, Sum: [32]byte(sum.Sum(nil))},
		durable.SyncDir(filepath.Dir(name))
}
