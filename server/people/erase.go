package people

import (
	"time"

	"go.etcd.io/bbolt"
)

// Erasure says that a value was erased, and when.
type Erasure struct {
	Commitment [32]byte
	At         time.Time
}

type erasedRow struct{ At int64 }

// Erase forgets values for good: when it returns without an error, neither they
// nor their salts are anywhere in the file. A deleted row would stay in the
// file's free pages, so the file is written anew, which takes half a second for
// 100,000 values of 100 bytes; reading goes on meanwhile. A commitment that is
// not here is listed as erased all the same. Cut short, the rewrite is done by
// the next Open.
func (s *Store) Erase(commitments [][32]byte, now time.Time) error {
	list := make([]Erasure, len(commitments))
	for i, commitment := range commitments {
		list[i] = Erasure{commitment, now}
	}
	return s.ApplyErasures(list)
}

// ApplyErasures erases what a list names, each at its own time, as after a
// restore of an older file. What is erased already keeps its first time and
// costs nothing.
func (s *Store) ApplyErasures(list []Erasure) error {
	s.write.Lock()
	defer s.write.Unlock()
	err := s.commit(func(tx *bbolt.Tx) error {
		for _, e := range list {
			if err := erase(tx, e); err != nil {
				return err
			}
		}
		return nil
	})
	s.dropRevealed()
	if err != nil {
		return err
	}
	return s.payRewrite()
}

// Erasures lists everything erased, to be kept with a backup's successor.
func (s *Store) Erasures() (list []Erasure, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		return tx.Bucket(bucketErased).ForEach(func(k, v []byte) error {
			row, _, err := unpack[erasedRow](v)
			list = append(list, Erasure{[32]byte(k), moment(row.At)})
			return err
		})
	})
	return list, err
}

func erase(tx *bbolt.Tx, e Erasure) error {
	if err := forget(tx, e.Commitment); err != nil {
		return err
	}
	b := tx.Bucket(bucketErased)
	if b.Get(e.Commitment[:]) != nil {
		return nil
	}
	return b.Put(e.Commitment[:], pack(erasedRow{stamp(e.At)}))
}

// forget deletes a value and notes that a rewrite is owed.
func forget(tx *bbolt.Tx, commitment [32]byte) error {
	b := tx.Bucket(bucketSealed)
	if b.Get(commitment[:]) == nil {
		return nil
	}
	if err := b.Delete(commitment[:]); err != nil {
		return err
	}
	return oweRewrite(tx)
}

// dropRevealed empties the memory of values. Waiting for the readers first
// makes sure that none puts back what it read before the erasure.
func (s *Store) dropRevealed() {
	s.swap.Lock()
	defer s.swap.Unlock()
	s.revealed.clear()
}
