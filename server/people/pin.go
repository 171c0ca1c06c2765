package people

import (
	"crypto/hmac"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/binary"
	"fmt"
	"time"

	"go.etcd.io/bbolt"
	"golang.org/x/crypto/argon2"

	"tidemark/server/fault"
)

// Argon is the cost of one Argon2id hash (RFC 9106).
type Argon struct {
	Memory  uint32 // KiB
	Time    uint32 // passes
	Threads uint8
}

// DefaultArgon is the least the OWASP Password Storage Cheat Sheet allows:
// 19 MiB, two passes, one thread. A hash takes about 90 ms.
var DefaultArgon = Argon{Memory: 19 * 1024, Time: 2, Threads: 1}

// maxArgonMemory, in KiB, keeps a damaged row from asking for all memory.
const maxArgonMemory = 1 << 20

func (a Argon) possible() bool {
	return a.Time > 0 && a.Threads > 0 && a.Memory <= maxArgonMemory
}

// PINStatus tells whether a person can sign in with a PIN.
type PINStatus struct {
	Set        bool // there is one, made with this store's pepper
	MustChange bool // the person has to choose a new one after the next sign-in
}

// pinRow says all that is needed to test a PIN, apart from the pepper, which
// it names by the first four bytes of its SHA-256.
type pinRow struct {
	MustChange bool
	Set        int64
	Argon      Argon
	Pepper     [4]byte
	Salt       [16]byte
	Hash       [32]byte
}

// SetPIN stores the PIN a person chose and lifts the waits of wrong ones. One
// that is easy to guess, or that was only handed out by ResetPIN, is a fault on
// the field "pin". Too many hashes at once is fault.Busy.
func (s *Store) SetPIN(person ID, pin string, now time.Time) error {
	if err := refusePIN(pin); err != nil {
		return err
	}
	leave, err := s.lane.enter()
	if err != nil {
		return err
	}
	defer leave()
	old, known, err := s.pinRow(person)
	if err != nil {
		return err
	}
	if known && old.MustChange && s.fits(old, person, pin) {
		return fault.Field("pin", "Choose another PIN than the one you were given.")
	}
	return s.storePIN(person, pin, false, now)
}

// ResetPIN makes a random PIN for a person who has none or forgot it, lifts the
// waits, and returns it to be told once. It has to be changed at the next
// sign-in.
func (s *Store) ResetPIN(person ID, now time.Time) (string, error) {
	pin, err := s.randomPIN()
	if err != nil {
		return "", err
	}
	leave, err := s.lane.enter()
	if err != nil {
		return "", err
	}
	defer leave()
	return pin, s.storePIN(person, pin, true, now)
}

// RemovePIN takes a person's PIN away, as for one who left. It ends no session.
func (s *Store) RemovePIN(person ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		if err := forgiveAll(tx, person); err != nil {
			return err
		}
		return tx.Bucket(bucketPINs).Delete(person[:])
	})
}

// PINStatus tells about a person's PIN. It is for lists that a lead sees: an
// answer to a stranger must not depend on it.
func (s *Store) PINStatus(person ID) (PINStatus, error) {
	row, known, err := s.pinRow(person)
	return PINStatus{Set: known, MustChange: known && row.MustChange}, err
}

// CheckPIN tests a PIN on a device and returns whether the person must now
// choose a new one.
//
// A wrong PIN is fault.SignIn on the field "pin". From the third wrong one in a
// row of a person on a device, each has to be waited out, which is
// fault.TooMany; RetryAfter tells how long. A right one ends the row. Somebody
// who does not exist, or has no PIN, gets the same answers after the same work.
// Too many hashes at once is fault.Busy and counts as no try.
func (s *Store) CheckPIN(person, device ID, pin string, now time.Time) (bool, error) {
	if !sixDigits(pin) {
		return false, notSixDigits()
	}
	// Asked before the lane, so that those who have to wait fill no place.
	if err := s.mayTry(person, device, now); err != nil {
		return false, err
	}
	leave, err := s.lane.enter()
	if err != nil {
		return false, err
	}
	defer leave()
	wait, err := s.charge(person, device, now)
	if err != nil {
		return false, err
	}
	row, known, err := s.pinRow(person)
	if err != nil {
		return false, err
	}
	if !s.fits(row, person, pin) || !known {
		return false, s.wrongPIN(person, device, wait, now)
	}
	return row.MustChange, s.forgive(person, device)
}

func (s *Store) wrongPIN(person, device ID, wait time.Duration, now time.Time) error {
	err := s.LogRefusal(Refusal{At: now, Person: person, Device: device, What: "wrong PIN"})
	if err != nil {
		return err
	}
	const message = "That name and PIN do not go together."
	wrong := fault.New(fault.SignIn, message+" Try again.")
	if wait > 0 {
		wrong = fault.Wrap(&WaitError{wait}, fault.SignIn, message+" Try again in %s.", inWords(wait))
	}
	wrong.Field = "pin"
	return wrong
}

// pinRow returns a person's row. Where there is none that can be tested it
// returns one that costs the same and fits no PIN.
func (s *Store) pinRow(person ID) (row pinRow, known bool, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketPINs).Get(person[:])
		if b == nil {
			return nil
		}
		row, err = readPINRow(b)
		return err
	})
	if err != nil {
		return pinRow{}, false, err
	}
	if row.Set == 0 || row.Pepper != s.pepperID() {
		return pinRow{Argon: s.argon}, false, nil
	}
	return row, true, nil
}

func readPINRow(b []byte) (pinRow, error) {
	row, _, err := unpack[pinRow](b)
	if err != nil {
		return row, fmt.Errorf("read PIN: %w", err)
	}
	if !row.Argon.possible() {
		return row, fmt.Errorf("read PIN: cost %+v: %w", row.Argon, errRow)
	}
	return row, nil
}

func (s *Store) storePIN(person ID, pin string, mustChange bool, now time.Time) error {
	row := pinRow{MustChange: mustChange, Set: stamp(now), Argon: s.argon, Pepper: s.pepperID()}
	if err := s.rand.fill(row.Salt[:]); err != nil {
		return err
	}
	row.Hash = s.hash(row, person, pin)
	return s.update(func(tx *bbolt.Tx) error {
		if err := forgiveAll(tx, person); err != nil {
			return err
		}
		return tx.Bucket(bucketPINs).Put(person[:], pack(row))
	})
}

func (s *Store) fits(row pinRow, person ID, pin string) bool {
	hash := s.hash(row, person, pin)
	return subtle.ConstantTimeCompare(hash[:], row.Hash[:]) == 1
}

// hash binds the PIN to the person, so that a row copied to another person
// opens nothing.
func (s *Store) hash(row pinRow, person ID, pin string) (hash [32]byte) {
	mac := hmac.New(sha256.New, s.pepper)
	mac.Write(person[:])
	mac.Write([]byte(pin))
	a := row.Argon
	copy(hash[:], argon2.IDKey(mac.Sum(nil), row.Salt[:], a.Time, a.Memory, a.Threads, 32))
	return hash
}

func (s *Store) pepperID() [4]byte {
	sum := sha256.Sum256(s.pepper)
	return [4]byte(sum[:4])
}

// randomPIN draws until the rules take it. Out of 2^64 the remainder of the
// division favours nobody measurably.
func (s *Store) randomPIN() (string, error) {
	for {
		b, err := s.rand.bytes(8)
		if err != nil {
			return "", err
		}
		pin := fmt.Sprintf("%06d", binary.BigEndian.Uint64(b)%1_000_000)
		if refusePIN(pin) == nil {
			return pin, nil
		}
	}
}
