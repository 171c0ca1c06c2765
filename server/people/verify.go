package people

import (
	"errors"
	"fmt"

	"go.etcd.io/bbolt"
)

// maxFindings is how many of what is wrong Verify names.
const maxFindings = 20

// Verify reads the whole file: its pages, every row, and for every sealed value
// whether its commitment still follows from it. Nil says that all of it holds.
// On a damaged file it may end the process; where damage is feared, run it in
// a process of its own.
func (s *Store) Verify() error {
	return s.view(func(tx *bbolt.Tx) error {
		var found []error
		for err := range tx.Check() {
			found = append(found, fmt.Errorf("pages: %w", err))
		}
		if len(found) == 0 {
			found = verifyRows(tx)
		}
		if more := len(found) - maxFindings; more > 0 {
			found = append(found[:maxFindings], fmt.Errorf("and %d more", more))
		}
		return errors.Join(found...)
	})
}

// verifiers say for each bucket what a row of it must be.
var verifiers = map[string]func(tx *bbolt.Tx, k, v []byte) error{
	string(bucketPINs):       verifyPIN,
	string(bucketMisses):     readable[misses],
	string(bucketSessions):   readable[sessionRow],
	string(bucketDevices):    readable[deviceRow],
	string(bucketEnrolments): readable[enrolmentRow],
	string(bucketSetup):      readable[setupRow],
	string(bucketLinks):      readable[linkRow],
	string(bucketSealed):     verifySealed,
	string(bucketErased):     readable[erasedRow],
	string(bucketReports):    readable[reportRow],
	string(bucketRefusals):   readable[refusalRow],
	string(bucketStorages):   verifyStorage,
}

func verifyRows(tx *bbolt.Tx) (found []error) {
	for _, name := range buckets {
		verify, ok := verifiers[string(name)]
		if !ok {
			continue // meta
		}
		err := tx.Bucket(name).ForEach(func(k, v []byte) error {
			if err := verify(tx, k, v); err != nil {
				found = append(found, fmt.Errorf("%s %x: %w", name, k, err))
			}
			return nil
		})
		if err != nil {
			found = append(found, err)
		}
	}
	return found
}

func verifyPIN(_ *bbolt.Tx, _, v []byte) error {
	_, err := readPINRow(v)
	return err
}

func readable[T any](_ *bbolt.Tx, _, v []byte) error {
	_, _, err := unpack[T](v)
	return err
}

func verifySealed(tx *bbolt.Tx, k, v []byte) error {
	r, err := readSealed(v)
	if err != nil {
		return err
	}
	if len(k) != 32 || Commitment(r.Value, r.Salt) != [32]byte(k) {
		return errors.New("the value does not match its commitment")
	}
	if tx.Bucket(bucketErased).Get(k) != nil {
		return errors.New("the value was erased and is here")
	}
	return nil
}
