package people

import (
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

type setupRow struct{ Until int64 }

const setupLife = 30 * time.Minute

// MakeSetup makes the token of the set-up link, 32 base64url characters, for 30
// minutes and one use. There is one at a time: it ends the one before.
func (s *Store) MakeSetup(now time.Time) (string, error) {
	token, key, err := s.newToken()
	if err != nil {
		return "", err
	}
	err = s.update(func(tx *bbolt.Tx) error {
		if err := endSetup(tx); err != nil {
			return err
		}
		row := setupRow{stamp(now.Add(setupLife))}
		return tx.Bucket(bucketSetup).Put(key[:], pack(row))
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// CheckSetup reports whether a token opens the set-up pages, nil if so, and
// changes nothing. One that was used, has run out or never was is fault.Gone.
func (s *Store) CheckSetup(token string, now time.Time) error {
	return s.view(func(tx *bbolt.Tx) error { return checkSetup(tx, token, now) })
}

// UseSetup takes the token, which ends it: of two at the same time one wins.
func (s *Store) UseSetup(token string, now time.Time) error {
	return s.update(func(tx *bbolt.Tx) error {
		if err := checkSetup(tx, token, now); err != nil {
			return err
		}
		return endSetup(tx)
	})
}

// EndSetup ends the link, if there is one: there is a first administrator.
func (s *Store) EndSetup() error { return s.update(endSetup) }

func checkSetup(tx *bbolt.Tx, token string, now time.Time) error {
	key := tokenKey(token)
	v := tx.Bucket(bucketSetup).Get(key[:])
	if v != nil {
		row, _, err := unpack[setupRow](v)
		if err != nil {
			return err
		}
		if now.Before(moment(row.Until)) {
			return nil
		}
	}
	return fault.New(fault.Gone, "This set-up link has ended. "+
		"Ask for a new one on the console of the server.")
}

func endSetup(tx *bbolt.Tx) error {
	return prune(tx.Bucket(bucketSetup), func(setupRow) bool { return true })
}
