package people

import (
	"encoding/binary"
	"strings"
	"time"

	"go.etcd.io/bbolt"
)

// Refusal is something that was not allowed: a wrong PIN, a forged form, the
// problem of another department. It is kept here because a stranger's tries
// must not grow the ledger. What is a short constant phrase: no name, no typed
// text. Person and Device are zero where unknown.
type Refusal struct {
	At             time.Time
	Person, Device ID
	What           string
}

type refusalRow struct {
	At             int64
	Person, Device ID
}

const (
	maxRefusals    = 2000
	maxRefusalWhat = 100 // bytes
)

// LogRefusal adds to the log, which keeps the last 2,000. It costs one sync, so
// what strangers can cause should be throttled before it comes here.
func (s *Store) LogRefusal(r Refusal) error {
	what := r.What
	if len(what) > maxRefusalWhat {
		what = strings.ToValidUTF8(what[:maxRefusalWhat], "")
	}
	return s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketRefusals)
		n, err := b.NextSequence()
		if err != nil {
			return err
		}
		if n > maxRefusals {
			if err := b.Delete(number(n - maxRefusals)); err != nil {
				return err
			}
		}
		return b.Put(number(n), pack(refusalRow{stamp(r.At), r.Person, r.Device}, []byte(what)...))
	})
}

// Refusals returns at most limit refusals, the newest first.
func (s *Store) Refusals(limit int) (list []Refusal, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		c := tx.Bucket(bucketRefusals).Cursor()
		for k, v := c.Last(); k != nil && len(list) < limit; k, v = c.Prev() {
			row, what, err := unpack[refusalRow](v)
			if err != nil {
				return err
			}
			list = append(list, Refusal{moment(row.At), row.Person, row.Device, string(what)})
		}
		return nil
	})
	return list, err
}

func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }
