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
// photographs.
func Verify(dir, key string, witnesses []string) (ledger.Report, error) {
	report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: desk.Fold(), Key: key, Witnesses: witnesses})
	if err != nil || len(report.Wrong) > 0 {
		return report, err
	}
	for _, check := range []func(string, *ledger.Report) error{verifyPeople, verifyPhotographs} {
		if err := check(dir, &report); err != nil {
			return report, err
		}
	}
	return report, nil
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

func verifyPhotographs(dir string, report *ledger.Report) (err error) {
	photos, err := durable.OpenFolder(filepath.Join(dir, "photographs"))
	if err != nil {
		return err
	}
	book, err := openEither(ledger.Options{Dir: dir, Fold: desk.Fold()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	good := 0
	err = book.Range(0, record.Seq(book.Size()), func(r record.Record) error {
		body, err := r.Content()
		p, ok := body.(*record.Photograph)
		if err != nil || !ok {
			return err
		}
		if _, err := photos.Read(p.SHA256); err != nil {
			report.Wrong = append(report.Wrong, fmt.Sprintf("The photograph of record %d: %v", r.Seq, err))
			return nil
		}
		good++
		return nil
	})
	if len(report.Wrong) == 0 {
		report.Checked = append(report.Checked, fmt.Sprintf("%d photographs are what their records say.", good))
	}
	return err
}
