package people

import (
	"encoding/binary"
	"errors"
	"time"

	"go.etcd.io/bbolt"
)

const rowVersion = 1

var errRow = errors.New("a row cannot be read")

// pack lays out a row: the version, the fields of a struct of fixed size, and
// a tail of any length.
func pack(fixed any, tail ...byte) []byte {
	b, err := binary.Append([]byte{rowVersion}, binary.BigEndian, fixed)
	if err != nil {
		panic(err) // the type has no fixed size: a mistake in this package
	}
	return append(b, tail...)
}

// unpack reads what pack wrote. The tail is part of b and dies with it.
func unpack[T any](b []byte) (fixed T, tail []byte, err error) {
	if len(b) == 0 || b[0] != rowVersion {
		return fixed, nil, errRow
	}
	n, err := binary.Decode(b[1:], binary.BigEndian, &fixed)
	if err != nil {
		return fixed, nil, errRow
	}
	return fixed, b[1+n:], nil
}

// prune deletes every row of a bucket that drop names.
func prune[T any](b *bbolt.Bucket, drop func(T) bool) error {
	var keys [][]byte
	err := b.ForEach(func(k, v []byte) error {
		row, _, err := unpack[T](v)
		if err == nil && drop(row) {
			keys = append(keys, k)
		}
		return err
	})
	if err != nil {
		return err
	}
	for _, k := range keys {
		if err := b.Delete(k); err != nil {
			return err
		}
	}
	return nil
}

// stamp is a time as rows keep it, 0 for the zero time.
func stamp(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

// moment is the time of a stamp.
func moment(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}
