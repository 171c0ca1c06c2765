package ledger

import (
	"archive/tar"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/durable"
	"tidemark/server/proof"
)

// Backup is what belongs to a data folder besides the ledger.
type Backup struct {
	People func(w io.Writer) error // writes a consistent people.db; nil if there is none
	Photos *durable.Folder         // nil if there is none
	Lists  *durable.Folder         // of packs; nil if there is none
}

// BackupReport says what a backup holds.
type BackupReport struct {
	proof.Checkpoint          // of the ledger in it
	Files            int      //
	Bytes            int64    // of the files
	Damaged          []string // photographs and lists that are not what they were, and were left out
}

// Names in a backup; photographs are photographs/ab/abcd..., under their SHA-256,
// and lists of packs likewise.
const (
	peopleFile = "people.db"
	photosDir  = "photographs"
	backupTemp = ".backup-" // folder for what is being streamed
	ListsDir   = "pack-lists"
)

// Backup writes a backup of the whole folder to w while the ledger is in use:
// a tar file of ledger.db, the anchor for it, people.db and the photographs, and
// last a manifest of all of them, signed by the ledger's key (proof.Manifest).
// Secret keys are not in it.
//
// The ledger is copied to the disk first and streamed from there, so a slow
// reader holds up nobody. All that its records name was stored before them and
// is taken after them, so nothing is missing.
func (l *Ledger) Backup(w io.Writer, b Backup) (BackupReport, error) {
	dir, err := os.MkdirTemp(l.o.Dir, backupTemp)
	if err != nil {
		return BackupReport{}, fmt.Errorf("back up: %w", err)
	}
	a := &archive{l: l, Backup: b, tar: tar.NewWriter(w), dir: dir}
	if err = a.run(); err == nil {
		err = a.tar.Close()
	}
	if err = errors.Join(err, os.RemoveAll(dir)); err != nil {
		return a.report, fmt.Errorf("back up: %w", err)
	}
	return a.report, nil
}

// archive is a backup that is being written.
type archive struct {
	Backup
	l      *Ledger
	tar    *tar.Writer
	dir    string // for what has to be on the disk before it can be streamed
	files  []proof.File
	report BackupReport
}

func (a *archive) run() error {
	signer, err := a.copyLedger()
	if err != nil {
		return err
	}
	if err := a.addFile(ledgerFile); err != nil {
		return err
	}
	anchor, err := a.report.Sign(signer)
	if err != nil {
		return err
	}
	if err := a.addBytes(anchorFile, anchor); err != nil {
		return err
	}
	if err := a.addPeople(); err != nil {
		return err
	}
	if err := a.addFolder(photosDir, a.Photos); err != nil {
		return err
	}
	if err := a.addFolder(ListsDir, a.Lists); err != nil {
		return err
	}
	slices.SortFunc(a.files, func(x, y proof.File) int { return strings.Compare(x.Name, y.Name) })
	a.report.Files = len(a.files)
	manifest, err := proof.Manifest{Checkpoint: a.report.Checkpoint, Files: a.files}.Sign(signer)
	if err != nil {
		return err
	}
	return a.addBytes(proof.ManifestName, manifest)
}

// copyLedger copies ledger.db as it is now and returns the key that it names.
func (a *archive) copyLedger() (proof.Signer, error) {
	a.l.rotating.RLock()
	defer a.l.rotating.RUnlock()
	name := filepath.Join(a.dir, ledgerFile)
	err := a.l.view(func(tx *bolt.Tx) error {
		if err := tx.CopyFile(name, 0o600); err != nil {
			return err
		}
		tree, _, err := readTree(tx)
		a.report.Checkpoint = proof.Checkpoint{Origin: a.l.identity.Origin, Size: tree.Size(),
			Root: tree.Root()}
		return err
	})
	return a.l.signer(), err
}

func (a *archive) addPeople() error {
	if a.People == nil {
		return nil
	}
	f, err := os.Create(filepath.Join(a.dir, peopleFile))
	if err != nil {
		return err
	}
	if err := errors.Join(a.People(f), f.Close()); err != nil {
		return err
	}
	return a.addFile(peopleFile)
}

// addFolder adds the files of a folder that keeps them under their SHA-256.
func (a *archive) addFolder(dir string, folder *durable.Folder) error {
	if folder == nil {
		return nil
	}
	return folder.Walk(func(name string, _ fs.FileInfo) error {
		file, err := folder.Read(name)
		switch {
		case errors.Is(err, fs.ErrNotExist): // erased meanwhile
			return nil
		case errors.Is(err, durable.ErrWrongContent):
			a.report.Damaged = append(a.report.Damaged, name)
			return nil
		case err != nil:
			return err
		}
		return a.addBytes(dir+"/"+name[:2]+"/"+name, file)
	})
}

// addFile streams a file of the backup's own folder.
func (a *archive) addFile(name string) error {
	f, err := os.Open(filepath.Join(a.dir, name))
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	return a.add(name, info.Size(), f)
}

func (a *archive) addBytes(name string, b []byte) error {
	return a.add(name, int64(len(b)), strings.NewReader(string(b)))
}

func (a *archive) add(name string, size int64, from io.Reader) error {
	err := a.tar.WriteHeader(&tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: a.l.o.Clock()})
	if err != nil {
		return err
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(a.tar, sum), from); err != nil {
		return fmt.Errorf("add %s: %w", name, err)
	}
	a.files = append(a.files, proof.File{Name: name, Size: size, Sum: [32]byte(sum.Sum(nil))})
	a.report.Bytes += size
	return nil
}

// isStored reports whether a name is that of a photograph or of a list of packs in
// a backup.
func isStored(name string) bool {
	dir, file := filepath.Split(name)
	sum, err := hex.DecodeString(file)
	return err == nil && len(sum) == sha256.Size && hex.EncodeToString(sum) == file &&
		(dir == photosDir+"/"+file[:2]+"/" || dir == ListsDir+"/"+file[:2]+"/")
}
