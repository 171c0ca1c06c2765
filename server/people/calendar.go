package people

import (
	"bytes"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Calendar is an address under which a calendar program reads what is due. Role
// is a small number that the caller gives a meaning.
type Calendar struct {
	ID, Dept, By ID
	Role         uint8
	Made         time.Time
}

type calendarRow struct {
	ID, Dept, By ID
	Role         uint8
	Made         int64
}

// bucketCalendars is made with the first calendar: files of before have none.
var bucketCalendars = []byte("calendars")

// MakeCalendar makes the secret token of a calendar: 32 base64url characters,
// good until EndCalendar.
func (s *Store) MakeCalendar(c Calendar) (token string, id ID, err error) {
	token, key, err := s.newToken()
	if err != nil {
		return "", id, err
	}
	if id, err = s.rand.id(); err != nil {
		return "", id, err
	}
	err = s.update(func(tx *bbolt.Tx) error {
		b, err := tx.CreateBucketIfNotExists(bucketCalendars)
		if err != nil {
			return err
		}
		return b.Put(key[:], pack(calendarRow{id, c.Dept, c.By, c.Role, stamp(c.Made)}))
	})
	if err != nil {
		return "", id, err
	}
	return token, id, nil
}

// Calendar returns what a token is for. One that was ended and one that never
// was look alike.
func (s *Store) Calendar(token string) (Calendar, error) {
	key := tokenKey(token)
	var c Calendar
	found := false
	err := s.view(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketCalendars)
		if b == nil {
			return nil
		}
		v := b.Get(key[:])
		if v == nil {
			return nil
		}
		row, _, err := unpack[calendarRow](v)
		c, found = row.calendar(), err == nil
		return err
	})
	if err == nil && !found {
		err = fault.New(fault.Gone, "This calendar has ended. Ask the department for a new address.")
	}
	return c, err
}

func (r calendarRow) calendar() Calendar { return Calendar{r.ID, r.Dept, r.By, r.Role, moment(r.Made)} }

// Calendars lists the calendars of a department, the oldest first.
func (s *Store) Calendars(dept ID) (list []Calendar, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketCalendars)
		if b == nil {
			return nil
		}
		return b.ForEach(func(_, v []byte) error {
			row, _, err := unpack[calendarRow](v)
			if err == nil && row.Dept == dept {
				list = append(list, row.calendar())
			}
			return err
		})
	})
	slices.SortFunc(list, func(a, b Calendar) int {
		if c := a.Made.Compare(b.Made); c != 0 {
			return c
		}
		return bytes.Compare(a.ID[:], b.ID[:])
	})
	return list, err
}

// EndCalendar ends a calendar: its address answers no more.
func (s *Store) EndCalendar(id ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketCalendars)
		if b == nil {
			return nil
		}
		return prune(b, func(r calendarRow) bool { return r.ID == id })
	})
}
