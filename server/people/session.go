package people

import (
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Session is one person's shift on one device.
type Session struct {
	Person, Device ID
	Started, Until time.Time
}

type sessionRow struct {
	Person, Device ID
	Started, Until int64
}

func (r sessionRow) session() Session {
	return Session{r.Person, r.Device, moment(r.Started), moment(r.Until)}
}

// maxSessions is far above the people of a hospital. A sign-in beyond it ends
// the sessions that would have ended soonest.
const maxSessions = 10_000

// StartSession signs a person in on a device and returns the token that proves
// it: 32 base64url characters, never to be seen again. Whether the PIN was
// right and the device is let in is for the caller.
func (s *Store) StartSession(person, device ID, now, until time.Time) (string, error) {
	if !until.After(now) {
		return "", fault.New(fault.Invalid, "A session must end after it starts.")
	}
	token, key, err := s.newToken()
	if err != nil {
		return "", err
	}
	row := sessionRow{person, device, stamp(now), stamp(until)}
	err = s.update(func(tx *bbolt.Tx) error {
		if err := s.endSessions(tx, s.outlived(now)); err != nil {
			return err
		}
		tx.OnCommit(func() { s.sessions.put(key, row.session()) })
		return tx.Bucket(bucketSessions).Put(key[:], pack(row))
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// Session returns the session of a token. One that was ended, has run out or
// never was is fault.SignIn; the three look alike. It reads memory only.
func (s *Store) Session(token string, now time.Time) (Session, error) {
	session, ok := s.sessions.get(tokenKey(token))
	if !ok || !now.Before(session.Until) {
		return Session{}, fault.New(fault.SignIn, "You are not signed in. Sign in and try again.")
	}
	return session, nil
}

// EndSession signs the holder of a token out. Ending what has ended is no
// error. As with all endings, memory forgets first: after an error the session
// is over in this process, but may come back with a restart.
func (s *Store) EndSession(token string) error {
	key := tokenKey(token)
	return s.update(func(tx *bbolt.Tx) error {
		s.sessions.delete(key)
		return tx.Bucket(bucketSessions).Delete(key[:])
	})
}

// EndAllOf signs a person out everywhere.
func (s *Store) EndAllOf(person ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		return s.endSessions(tx, func(x Session) bool { return x.Person == person })
	})
}

// EndAllOn signs everybody out on a device.
func (s *Store) EndAllOn(device ID) error {
	return s.update(func(tx *bbolt.Tx) error { return s.endAllOn(tx, device) })
}

func (s *Store) endAllOn(tx *bbolt.Tx, device ID) error {
	return s.endSessions(tx, func(x Session) bool { return x.Device == device })
}

// endSessions asks memory and file apart: after a commit that failed they may
// differ, and a retry has to end both.
func (s *Store) endSessions(tx *bbolt.Tx, over func(Session) bool) error {
	s.sessions.drop(over)
	return prune(tx.Bucket(bucketSessions), func(r sessionRow) bool { return over(r.session()) })
}

// outlived names the sessions that have run out and, if there are too many,
// those that end first.
func (s *Store) outlived(now time.Time) func(Session) bool {
	last := now
	if open := s.sessions.all(); len(open) >= maxSessions {
		last = open[0].Until
		for _, x := range open {
			if x.Until.Before(last) {
				last = x.Until
			}
		}
		if last.Before(now) {
			last = now
		}
	}
	return func(x Session) bool { return !x.Until.After(last) }
}

func (s *Store) loadSessions(tx *bbolt.Tx) error {
	return tx.Bucket(bucketSessions).ForEach(func(k, v []byte) error {
		row, _, err := unpack[sessionRow](v)
		if err == nil {
			s.sessions.put([32]byte(k), row.session())
		}
		return err
	})
}
