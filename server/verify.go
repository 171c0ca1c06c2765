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
// and state (ledger.Verify), the private values behind the records, and the
// photographs. It needs no keys and changes nothing.
func Verify(dir, key string, witnesses []string) (ledger.Report, error) {
	var named []photograph
	report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: desk.Fold(), Key: key, Witnesses: witnesses,
		Each: func(r *record.Record) error {
			if r.Kind != "photograph" {
				return nil
			}
			body, err := r.Content()
			if p, ok := body.(*record.Photograph); ok {
				named = append(named, photograph{r.Seq, p.SHA256})
			}
			return err
		}})
	if err != nil || len(report.Wrong) > 0 {
		return report, err
	}
	if err := verifyPeople(dir, &report); err != nil {
		return report, err
	}
	return report, verifyPhotographs(dir, named, &report)
}

// photograph is what a record says of one.
type photograph struct {
	seq record.Seq
	sum string
}

func verifyPeople(dir string, report *ledger.Report) (err error) {
	name := filepath.Join(dir, "people.db")
	if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) {
		report.Checked = append(report.Checked, "There is no people.db yet.")
		return nil
	}
	pepper, err := os.ReadFile(filepath.Join(dir, "keys", "pepper"))
	if err != nil {
		pepper = make([]byte, 32) // without the keys no PIN works, but everything else can be checked
	}
	staff, err := people.Open(name, people.Options{Pepper: pepper})
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

func verifyPhotographs(dir string, named []photograph, report *ledger.Report) error {
	photos, err := durable.OpenFolder(filepath.Join(dir, "photographs"))
	if err != nil {
		return err
	}
	for _, p := range named {
		if _, err := photos.Read(p.sum); err != nil {
			report.Wrong = append(report.Wrong, fmt.Sprintf("The photograph of record %d: %v", p.seq, err))
		}
	}
	if len(report.Wrong) == 0 {
		report.Checked = append(report.Checked, fmt.Sprintf("%d photographs are what their records say.", len(named)))
	}
	return nil
}
