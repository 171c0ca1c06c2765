package ledger

import (
	"fmt"

	bolt "go.etcd.io/bbolt"
)

var metaAccepted = []byte("accepted")

// acceptedLoss says how much others have seen of records that are known to be gone.
type acceptedLoss struct {
	Seen int64 `json:"seen"`
}

// WentBack compares the ledger with what somebody has seen of it: the number of
// records that a page, a phone or a print was drawn from. More than there are is
// a *Damage: an older copy of the ledger was put in the place of a newer one.
// Nothing should be stored then until a person has decided: restored on purpose
// (AcceptLoss), or by mistake.
func (l *Ledger) WentBack(seen int64) error {
	l.mu.RLock()
	size, lost := l.now.tree.Size(), l.now.lost
	l.mu.RUnlock()
	if seen <= max(size, lost) {
		return nil
	}
	d := damaged(nil, "The ledger went back: it holds %d records, and %d have been seen.", size, seen)
	d.Do = "If it was restored from an older backup on purpose, accept the loss: " +
		"tidemark restore -accept. If not, stop the server and put the newer data folder back."
	return d
}

// AcceptLoss says that a person knows of records that were seen and are gone:
// from here on up to so many may have been seen.
func (l *Ledger) AcceptLoss(seen int64) error {
	err := l.update(func(tx *bolt.Tx) error { return putJSON(tx, metaAccepted, acceptedLoss{seen}) })
	if err != nil {
		return fmt.Errorf("accept loss: %w", err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.now.lost = seen
	return nil
}

func readAccepted(tx *bolt.Tx) (int64, error) {
	var a acceptedLoss
	_, err := getJSON(tx, metaAccepted, &a)
	return a.Seen, err
}
