package people_test

import (
	"bytes"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"
)

func TestVerifyNamesWhatIsWrong(t *testing.T) {
	for want, edit := range map[string]func(tx *bbolt.Tx, commitment []byte) error{
		"does not match its commitment": func(tx *bbolt.Tx, commitment []byte) error {
			b := tx.Bucket([]byte("sealed"))
			changed := bytes.Replace(b.Get(commitment), []byte("Marsh"), []byte("Harsh"), 1)
			return b.Put(commitment, changed)
		},
		"was erased and is here": func(tx *bbolt.Tx, commitment []byte) error {
			return tx.Bucket([]byte("erased")).Put(commitment, append([]byte{1}, make([]byte, 8)...))
		},
		"links 00: a row cannot be read": func(tx *bbolt.Tx, _ []byte) error {
			return tx.Bucket([]byte("links")).Put([]byte{0}, []byte{1, 2, 3})
		},
		"setup 00: a row cannot be read": func(tx *bbolt.Tx, _ []byte) error {
			ofAnotherVersion := append([]byte{2}, make([]byte, 8)...)
			return tx.Bucket([]byte("setup")).Put([]byte{0}, ofAnotherVersion)
		},
		"read PIN: cost": func(tx *bbolt.Tx, _ []byte) error {
			pins := tx.Bucket([]byte("pins"))
			row := bytes.Clone(pins.Get(marsh[:]))
			row[10] = 0xff // 4 TiB of memory
			return pins.Put(marsh[:], row)
		},
	} {
		t.Run(want, func(t *testing.T) {
			h := newHouse(t)
			commitment := seal(t, h, name("L. Marsh"))[0]
			require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
			var undo []byte
			h.raw(func(tx *bbolt.Tx) error {
				undo = bytes.Clone(tx.Bucket([]byte("sealed")).Get(commitment[:]))
				return edit(tx, commitment[:])
			})
			h.open()
			require.ErrorContains(t, h.Verify(), want)

			h.raw(func(tx *bbolt.Tx) error { // so that the end of the test holds
				return errors.Join(tx.Bucket([]byte("sealed")).Put(commitment[:], undo),
					tx.Bucket([]byte("erased")).Delete(commitment[:]),
					tx.Bucket([]byte("setup")).Delete([]byte{0}),
					tx.Bucket([]byte("pins")).Delete(marsh[:]),
					tx.Bucket([]byte("links")).Delete([]byte{0}))
			})
			h.open()
		})
	}
}
