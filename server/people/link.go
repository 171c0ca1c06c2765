package people

import (
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Link lets an addressee without an account work on one problem.
type Link struct {
	Problem, Addressee ID
	Made, Until        time.Time
}

type linkRow struct {
	Problem, Addressee ID
	Made, Until        int64
}

func (r linkRow) link() Link {
	return Link{r.Problem, r.Addressee, moment(r.Made), moment(r.Until)}
}

const linkLife = 14 * 24 * time.Hour

// MakeLink makes the token of a link: 32 base64url characters, for 14 days or
// until EndLinks. A problem and an addressee may have several, one for each
// time a message was sent.
func (s *Store) MakeLink(problem, addressee ID, now time.Time) (string, error) {
	token, key, err := s.newToken()
	if err != nil {
		return "", err
	}
	row := linkRow{problem, addressee, stamp(now), stamp(now.Add(linkLife))}
	err = s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketLinks)
		over := func(r linkRow) bool { return !now.Before(moment(r.Until)) }
		if err := prune(b, over); err != nil {
			return err
		}
		return b.Put(key[:], pack(row))
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// Link returns what a token is for. Looking changes nothing, so a mail filter
// that opens links does no harm. One that was ended, has run out or never was
// is fault.Gone; the three look alike.
func (s *Store) Link(token string, now time.Time) (Link, error) {
	key := tokenKey(token)
	var link Link
	err := s.view(func(tx *bbolt.Tx) error {
		v := tx.Bucket(bucketLinks).Get(key[:])
		if v == nil {
			return nil
		}
		row, _, err := unpack[linkRow](v)
		link = row.link()
		return err
	})
	if err != nil {
		return Link{}, err
	}
	if !now.Before(link.Until) {
		return Link{}, fault.New(fault.Gone, "This link has ended. Ask the department "+
			"for a new one.")
	}
	return link, nil
}

// EndLinks ends every link to a problem, as when the sealer is handed back.
func (s *Store) EndLinks(problem ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		return prune(tx.Bucket(bucketLinks), func(r linkRow) bool { return r.Problem == problem })
	})
}
