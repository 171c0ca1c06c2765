package server

import (
	"errors"
	"io"
	"path/filepath"

	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/ledger"
)

// Backup writes a backup of a data folder that no server holds. The keys lie in
// dir/keys if nothing else is said.
func Backup(dir, keys string, w io.Writer) (err error) {
	book, err := openEither(ledger.Options{Dir: dir, Keys: keys, Fold: desk.Fold()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	staff, err := openPeople(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, staff.Close()) }()
	photos, err := durable.OpenFolder(filepath.Join(dir, "photographs"))
	if err != nil {
		return err
	}
	lists, err := durable.OpenFolder(filepath.Join(dir, ledger.ListsDir))
	if err != nil {
		return err
	}
	_, err = book.Backup(w, ledger.Backup{People: staff.Snapshot, Photos: photos, Lists: lists})
	return err
}

// Restore makes a data folder out of a backup and verifies all of it; key is the
// ledger's public key, if it is known from elsewhere. What was not delivered
// waits to be asked about. Removed is the list of what was removed for good since,
// from the folder that the backup replaces; the first start removes it again.
func Restore(from io.Reader, dir, key string, removed []byte) (ledger.Report, error) {
	report, err := ledger.Restore(from, ledger.Restoring{Dir: dir, Why: desk.WhyRestored,
		Verification: ledger.Verification{Fold: desk.Fold(), Key: key}})
	if err != nil || len(removed) == 0 {
		return report, err
	}
	return report, durable.WriteFile(dir, erasedFile, removed)
}

// lossAccepted is said when AcceptLoss is done.
const lossAccepted = "Accepted: records that were seen and are gone stay gone. Records are stored again."

// AcceptLoss accepts, on a data folder that no server holds, that records that
// were seen are gone.
func AcceptLoss(dir string) (said string, err error) {
	book, err := openEither(ledger.Options{Dir: dir, Fold: desk.Fold()})
	if err != nil {
		return "", err
	}
	return lossAccepted + "\n", errors.Join(book.AcceptLoss(0), book.Close())
}
