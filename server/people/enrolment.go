package people

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"strings"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Enrolment is a lead's leave for one new device.
type Enrolment struct {
	Dept, By ID
	Until    time.Time
}

type enrolmentRow struct {
	Dept, By ID
	Until    int64
}

const (
	codeLife  = 10 * time.Minute
	codeBytes = 5 // 8 characters of 5 bits
	maxCodes  = 200
	// maxWrongCodes a codeLife, over all devices: with every code in use the
	// odds of a hit are 1 in 10^8.
	maxWrongCodes = 60
)

// codeLetters leave out I, L, O and U, as Crockford's base 32 does.
var codeLetters = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").
	WithPadding(base32.NoPadding)

// MakeEnrolment makes a code of 8 letters and digits that a lead shows, and the
// new device types or scans within 10 minutes.
func (s *Store) MakeEnrolment(dept, by ID, now time.Time) (string, Enrolment, error) {
	raw, err := s.rand.bytes(codeBytes)
	if err != nil {
		return "", Enrolment{}, err
	}
	code := codeLetters.EncodeToString(raw)
	row := enrolmentRow{dept, by, stamp(now.Add(codeLife))}
	err = s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketEnrolments)
		over := func(r enrolmentRow) bool { return !now.Before(moment(r.Until)) }
		if err := prune(b, over); err != nil {
			return err
		}
		if rows(b) >= maxCodes {
			return fault.Wrap(&WaitError{codeLife}, fault.TooMany,
				"Too many codes are waiting to be used. Use one, or wait 10 minutes.")
		}
		return b.Put(s.codeKey(code), pack(row))
	})
	if err != nil {
		return "", Enrolment{}, err
	}
	return code, Enrolment{dept, by, moment(row.Until)}, nil
}

// UseEnrolment takes a code, which ends it: one device wins. Spaces, hyphens,
// small letters and O for 0, I or L for 1 are read as meant. A wrong, used or
// old code is a fault on the field "code"; too many of them is fault.TooMany.
// What follows, LetIn and the record of it, is for the caller.
func (s *Store) UseEnrolment(code string, now time.Time) (Enrolment, error) {
	var used Enrolment
	err := s.update(func(tx *bbolt.Tx) error {
		if left := s.codes.left(now); left > 0 {
			return fault.Wrap(&WaitError{left}, fault.TooMany,
				"Too many wrong codes. Try again in %s.", inWords(left))
		}
		b, key := tx.Bucket(bucketEnrolments), s.codeKey(asCode(code))
		v := b.Get(key)
		if v == nil {
			return s.wrongCode()
		}
		row, _, err := unpack[enrolmentRow](v)
		if err != nil {
			return err
		}
		used = Enrolment{row.Dept, row.By, moment(row.Until)}
		if !now.Before(used.Until) {
			return s.wrongCode()
		}
		return b.Delete(key)
	})
	if err != nil {
		return Enrolment{}, err
	}
	return used, nil
}

func (s *Store) wrongCode() error {
	s.codes.count++
	return fault.Field("code", "This code is wrong, used or too old. Ask the lead for a new one.")
}

// codeKey needs the pepper: without it the 2^40 codes of a copied file could be
// tried within the ten minutes.
func (s *Store) codeKey(code string) []byte {
	mac := hmac.New(sha256.New, s.pepper)
	mac.Write([]byte("enrolment" + code))
	return mac.Sum(nil)
}

func asCode(typed string) string {
	return strings.NewReplacer(" ", "", "-", "", "O", "0", "I", "1", "L", "1").
		Replace(strings.ToUpper(typed))
}

func rows(b *bbolt.Bucket) (n int) {
	c := b.Cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		n++
	}
	return n
}
