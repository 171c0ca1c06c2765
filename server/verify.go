package server

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/record"
)

// Verify checks everything in a data folder that no server holds: records, tree
// and state (ledger.Verify), the private values behind the records, the
// photographs and the lists of packs. It needs no keys and changes nothing.
func Verify(dir, key string, witnesses []string) (ledger.Report, error) {
	var named, lists []stored
	erased := map[record.Seq]bool{}
	report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: desk.Fold(), Key: key, Witnesses: witnesses,
		Each: func(r *record.Record) error {
			if r.Kind != "photograph" && r.Kind != "packs-listed" && r.Kind != "erased" {
				return nil
			}
			body, err := r.Content()
			switch b := body.(type) {
			case *record.Photograph:
				named = append(named, stored{r.Seq, b.SHA256})
			case *record.PacksListed:
				lists = append(lists, stored{r.Seq, b.SHA256})
			case *record.Erased:
				for _, seq := range b.Records {
					erased[seq] = true
				}
			}
			return err
		}})
	if err != nil || len(report.Wrong) > 0 {
		return report, err
	}
	if err := verifyPeople(dir, &report); err != nil {
		return report, err
	}
	if err := verifyStored(dir, "photographs", "photograph", named, erased, &report); err != nil {
		return report, err
	}
	return report, verifyStored(dir, ledger.ListsDir, "list of packs", lists, nil, &report)
}

// stored is what a record says of a file that is kept under its SHA-256.
type stored struct {
	seq record.Seq
	sum string
}

// openPeople opens people.db for all but PINs: those need the keys, which may lie
// elsewhere.
func openPeople(dir string) (*people.Store, error) {
	return people.Open(filepath.Join(dir, "people.db"), people.Options{Pepper: make([]byte, secretSize)})
}

func verifyPeople(dir string, report *ledger.Report) (err error) {
	name := filepath.Join(dir, "people.db")
	if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) {
		report.Checked = append(report.Checked, "There is no people.db yet.")
		return nil
	}
	staff, err := openPeople(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, staff.Close()) }()
	if err := staff.Verify(); err != nil {
		report.Wrong = append(report.Wrong, "people.db: "+err.Error())
		return nil
	}
	report.Checked = append(report.Checked, "Every private value in people.db is the one that its record commits to.")
	return nil
}

// verifyStored reads the files that records name.
func verifyStored(dir, folder, word string, named []stored, erased map[record.Seq]bool, report *ledger.Report) error {
	if _, err := os.Stat(filepath.Join(dir, folder)); errors.Is(err, os.ErrNotExist) && len(named) == 0 {
		return nil
	}
	files, err := durable.OpenFolder(filepath.Join(dir, folder))
	if err != nil {
		return err
	}
	wrong, gone := len(report.Wrong), map[string]bool{} // the same picture may have two records
	for _, f := range named {
		gone[f.sum] = gone[f.sum] || erased[f.seq]
	}
	for _, f := range named {
		if _, err := files.Read(f.sum); err != nil && !(gone[f.sum] && errors.Is(err, os.ErrNotExist)) {
			report.Wrong = append(report.Wrong, fmt.Sprintf("The %s of record %d: %v", word, f.seq, err))
		}
	}
	if len(report.Wrong) == wrong {
		report.Checked = append(report.Checked, fmt.Sprintf("Each %s (%d) is what its record says, or was removed for good.", word, len(named)))
	}
	return nil
}

// Report says what was looked at and what is wrong.
type Report = ledger.Report
