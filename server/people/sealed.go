package people

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Value is something private that a record will only commit to: a name, free
// text, an address. The domain says what it is, such as "person/name", so that
// one commitment cannot stand for another kind of value.
type Value struct {
	Domain string
	Bytes  []byte
}

// Status tells what became of a sealed value.
type Status string

const (
	Present Status = "present"
	Erased  Status = "erased"
	Missing Status = "missing" // never sealed here, or its record never came and it was swept
)

// Revealed is the answer to a commitment. Value and Salt are set while it is
// present, At is when it was sealed or erased.
type Revealed struct {
	Status Status
	Value  Value
	Salt   [32]byte
	At     time.Time
}

// sealedRow is followed by the domain and the bytes.
type sealedRow struct {
	At     int64
	Salt   [32]byte
	Domain uint8 // length
}

const (
	maxValue  = 64 << 10 // bytes
	maxDomain = 64       // bytes
	// Values of at most maxKept bytes are kept in memory, keepValues of them:
	// some 4 MB of names.
	maxKept    = 256
	keepValues = 8192
)

// Commitment is what a record says of a value:
// SHA-256("tidemark/sealed/v1:" + domain + 0x00 || salt || bytes).
func Commitment(v Value, salt [32]byte) [32]byte {
	h := sha256.New()
	h.Write([]byte("tidemark/sealed/v1:" + v.Domain + "\x00"))
	h.Write(salt[:])
	h.Write(v.Bytes)
	return [32]byte(h.Sum(nil))
}

// Seal stores values under fresh salts and returns their commitments in the
// order given. They are on disk, all or none, before a record names them; those
// whose record never came are for Sweep. More than 64 KiB is fault.TooLarge.
func (s *Store) Seal(now time.Time, values ...Value) ([][32]byte, error) {
	if len(values) == 0 {
		return nil, nil
	}
	commitments := make([][32]byte, len(values))
	lines := make([][]byte, len(values))
	for i, v := range values {
		var err error
		if commitments[i], lines[i], err = s.sealOne(v, now); err != nil {
			return nil, err
		}
	}
	err := s.update(func(tx *bbolt.Tx) error {
		for i, line := range lines {
			if err := tx.Bucket(bucketSealed).Put(commitments[i][:], line); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return commitments, nil
}

func (s *Store) sealOne(v Value, now time.Time) (commitment [32]byte, line []byte, err error) {
	if v.Domain == "" || len(v.Domain) > maxDomain || strings.Contains(v.Domain, "\x00") {
		return commitment, nil, fmt.Errorf("seal value: %q is no domain", v.Domain)
	}
	if len(v.Bytes) > maxValue {
		return commitment, nil, fault.New(fault.TooLarge,
			"This text is too long: %d kB are taken at most.", maxValue>>10)
	}
	row := sealedRow{At: stamp(now), Domain: uint8(len(v.Domain))}
	if err := s.rand.fill(row.Salt[:]); err != nil {
		return commitment, nil, err
	}
	line = append(pack(row, []byte(v.Domain)...), v.Bytes...)
	return Commitment(v, row.Salt), line, nil
}

// Reveal returns the value behind a commitment, or what became of it. The bytes
// are the caller's own.
func (s *Store) Reveal(commitment [32]byte) (Revealed, error) {
	if r, ok := s.revealed.get(commitment); ok {
		return r.clone(), nil
	}
	var r Revealed
	err := s.view(func(tx *bbolt.Tx) (err error) {
		r, err = reveal(tx, commitment)
		// Kept within the view: an erasure waits for it and then drops it.
		if err == nil && r.Status == Present && len(r.Value.Bytes) <= maxKept {
			s.revealed.put(commitment, r.clone())
			s.revealed.trim(keepValues)
		}
		return err
	})
	return r, err
}

func reveal(tx *bbolt.Tx, commitment [32]byte) (Revealed, error) {
	if v := tx.Bucket(bucketSealed).Get(commitment[:]); v != nil {
		r, err := readSealed(v)
		return r.clone(), err
	}
	v := tx.Bucket(bucketErased).Get(commitment[:])
	if v == nil {
		return Revealed{Status: Missing}, nil
	}
	row, _, err := unpack[erasedRow](v)
	return Revealed{Status: Erased, At: moment(row.At)}, err
}

// readSealed reads a row without copying its bytes.
func readSealed(v []byte) (Revealed, error) {
	row, tail, err := unpack[sealedRow](v)
	if err != nil || int(row.Domain) > len(tail) {
		return Revealed{}, fmt.Errorf("read sealed value: %w", errRow)
	}
	value := Value{string(tail[:row.Domain]), tail[row.Domain:]}
	return Revealed{Present, value, row.Salt, moment(row.At)}, nil
}

func (r Revealed) clone() Revealed {
	r.Value.Bytes = slices.Clone(r.Value.Bytes)
	return r
}

// Sweep forgets what no longer has to be kept: values sealed before the given
// time that no record uses, and the text of reports taken before it. Call it
// with the time a day ago, so that a record on its way is not robbed. It
// returns how many values went. used is asked outside any transaction.
func (s *Store) Sweep(before time.Time, used func(commitment [32]byte) bool) (int, error) {
	old, err := s.sealedBefore(before)
	if err != nil {
		return 0, err
	}
	orphans := slices.DeleteFunc(old, used)
	s.write.Lock()
	defer s.write.Unlock()
	err = s.commit(func(tx *bbolt.Tx) error {
		for _, commitment := range orphans {
			if err := forget(tx, commitment); err != nil {
				return err
			}
		}
		return finishTaken(tx, before)
	})
	s.dropRevealed()
	if err != nil {
		return 0, err
	}
	return len(orphans), s.payRewrite()
}

func (s *Store) sealedBefore(before time.Time) (list [][32]byte, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		return tx.Bucket(bucketSealed).ForEach(func(k, v []byte) error {
			row, _, err := unpack[sealedRow](v)
			if err == nil && moment(row.At).Before(before) {
				list = append(list, [32]byte(k))
			}
			return err
		})
	})
	return list, err
}
