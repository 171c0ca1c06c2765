package people

import (
	"encoding/binary"
	"slices"
	"time"

	"go.etcd.io/bbolt"
)

// Storage is one phone's store of entries, which numbers them from 1.
type Storage struct {
	ID     ID
	Device ID    // that sent from it last
	Made   int64 // the highest number that came
	Gaps   []Gap // what is missing below it, the earliest first
}

// Gap is a run of numbers that did not come. Since is when a later one did.
type Gap struct {
	From, To int64
	Since    time.Time
}

// storageRow is followed by its gaps.
type storageRow struct {
	Dept, Device ID
	Made, Last   int64
}

type gapRow struct{ From, To, Since int64 }

const (
	maxGaps     = 64   // of a storage; the earliest are forgotten first
	maxStorages = 4096 // the one that was silent for longest is forgotten first
)

// Came notes that a number of a storage has arrived, in whatever order.
func (s *Store) Came(dept, device, storage ID, n int64, now time.Time) error {
	if n < 1 || storage == (ID{}) {
		return nil
	}
	known := false
	err := s.view(func(tx *bbolt.Tx) error {
		row, gaps, err := readStorage(tx.Bucket(bucketStorages).Get(storage[:]))
		known = row.Dept == dept && n <= row.Made && !slices.ContainsFunc(gaps, func(g gapRow) bool { return g.has(n) })
		return err
	})
	if err != nil || known {
		return err
	}
	return s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketStorages)
		row, gaps, err := readStorage(b.Get(storage[:]))
		if err != nil {
			return err
		}
		if row.Last == 0 {
			if err := makeRoomForStorage(b); err != nil {
				return err
			}
		}
		if n > row.Made+1 {
			gaps = append(gaps, gapRow{row.Made + 1, n - 1, stamp(now)})
		}
		gaps = without(gaps, n)
		row = storageRow{dept, device, max(n, row.Made), stamp(now)}
		return b.Put(storage[:], packStorage(row, gaps[max(0, len(gaps)-maxGaps):]))
	})
}

func (g gapRow) has(n int64) bool { return g.From <= n && n <= g.To }

// without takes a number out of the gap that holds it.
func without(gaps []gapRow, n int64) (left []gapRow) {
	for _, g := range gaps {
		if !g.has(n) {
			left = append(left, g)
			continue
		}
		if g.From < n {
			left = append(left, gapRow{g.From, n - 1, g.Since})
		}
		if n < g.To {
			left = append(left, gapRow{n + 1, g.To, g.Since})
		}
	}
	return left
}

// Storages lists those of a department of which something is missing.
func (s *Store) Storages(dept ID) (list []Storage, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		return tx.Bucket(bucketStorages).ForEach(func(k, v []byte) error {
			row, gaps, err := readStorage(v)
			if err != nil || row.Dept != dept || len(gaps) == 0 {
				return err
			}
			one := Storage{ID: ID(k), Device: row.Device, Made: row.Made}
			for _, g := range gaps {
				one.Gaps = append(one.Gaps, Gap{g.From, g.To, moment(g.Since)})
			}
			list = append(list, one)
			return nil
		})
	})
	return list, err
}

func makeRoomForStorage(b *bbolt.Bucket) error {
	var oldest []byte
	rows, last := 0, int64(0)
	err := b.ForEach(func(k, v []byte) error {
		row, _, err := readStorage(v)
		if rows++; oldest == nil || row.Last < last {
			oldest, last = k, row.Last
		}
		return err
	})
	if err != nil || rows < maxStorages {
		return err
	}
	return b.Delete(oldest)
}

func packStorage(row storageRow, gaps []gapRow) []byte {
	b := pack(row)
	for _, g := range gaps {
		for _, n := range []int64{g.From, g.To, g.Since} {
			b = binary.BigEndian.AppendUint64(b, uint64(n))
		}
	}
	return b
}

// readStorage reads a row; one that is not there is empty.
func readStorage(b []byte) (row storageRow, gaps []gapRow, err error) {
	if b == nil {
		return row, nil, nil
	}
	row, tail, err := unpack[storageRow](b)
	if err != nil {
		return row, nil, err
	}
	for len(tail) > 0 {
		var g gapRow
		n, err := binary.Decode(tail, binary.BigEndian, &g)
		if err != nil {
			return row, nil, errRow
		}
		gaps, tail = append(gaps, g), tail[n:]
	}
	return row, gaps, nil
}

func verifyStorage(_ *bbolt.Tx, _, v []byte) error {
	_, _, err := readStorage(v)
	return err
}
