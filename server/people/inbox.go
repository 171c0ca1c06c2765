package people

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Report is what somebody without an account left for a department. It is no
// record and stops no sealer until somebody of the department takes it.
type Report struct {
	ID, Dept ID
	At       time.Time
	Body     []byte // the caller's own format
	TakenBy  ID
	TakenAt  time.Time // zero while nobody has taken it
}

// TakenError is the cause of a fault: somebody else was first.
type TakenError struct {
	By ID
	At time.Time
}

// Error tells who, for the log.
func (e *TakenError) Error() string {
	return fmt.Sprintf("taken by %x at %s", e.By, e.At.Format(time.RFC3339))
}

// reportRow is followed by the body until the report is finished. Its rest
// stays for a while, to tell who took it and to count posts.
type reportRow struct {
	Dept     ID
	Poster   [16]byte // of SHA-256 of its token
	At       int64
	TakenBy  ID
	TakenAt  int64
	Finished bool
}

const (
	maxWaiting    = 500 // of a department
	maxReportBody = 16 << 10
	maxPosts      = 20 // of a poster
	postsPer      = time.Hour
	keepFinished  = 30 * 24 * time.Hour
)

// AddReport leaves a report for a department. The poster is the token of
// whoever posts, any text; 20 an hour are taken of one. With 500 waiting no more
// are taken and none is dropped. Both are fault.TooMany.
func (s *Store) AddReport(dept ID, poster string, body []byte, now time.Time) (ID, error) {
	if len(body) > maxReportBody {
		return ID{}, fault.New(fault.TooLarge, "This report is too long: %d kB are taken at most.",
			maxReportBody>>10)
	}
	id, err := s.rand.id()
	if err != nil {
		return ID{}, err
	}
	row := reportOf(dept, poster, now)
	err = s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketReports)
		over := func(r reportRow) bool {
			return r.Finished && now.Sub(moment(r.TakenAt)) > keepFinished
		}
		if err := prune(b, over); err != nil {
			return err
		}
		if err := mayPost(b, row, now); err != nil {
			return err
		}
		return b.Put(id[:], pack(row, body...))
	})
	if err != nil {
		return ID{}, err
	}
	return id, nil
}

func reportOf(dept ID, poster string, now time.Time) reportRow {
	sum := sha256.Sum256([]byte(poster))
	return reportRow{Dept: dept, Poster: [16]byte(sum[:16]), At: stamp(now)}
}

// MayReport refuses as AddReport would, before a photograph is looked at.
func (s *Store) MayReport(dept ID, poster string, now time.Time) error {
	return s.view(func(tx *bbolt.Tx) error {
		return mayPost(tx.Bucket(bucketReports), reportOf(dept, poster, now), now)
	})
}

// mayPost counts the reports themselves, so the limits hold over a restart.
func mayPost(b *bbolt.Bucket, post reportRow, now time.Time) error {
	waiting := 0
	var posts []time.Time
	err := b.ForEach(func(_, v []byte) error {
		row, _, err := unpack[reportRow](v)
		if row.Dept == post.Dept && !row.Finished {
			waiting++
		}
		if at := moment(row.At); row.Poster == post.Poster && now.Sub(at) < postsPer {
			posts = append(posts, at)
		}
		return err
	})
	switch {
	case err != nil:
		return err
	case waiting >= maxWaiting:
		return fault.New(fault.TooMany, "Too many reports are waiting here. "+
			"Please telephone the department.")
	case len(posts) >= maxPosts:
		slices.SortFunc(posts, time.Time.Compare)
		left := posts[len(posts)-maxPosts].Add(postsPer).Sub(now)
		return fault.Wrap(&WaitError{left}, fault.TooMany,
			"%d reports came from here within an hour. Try again in %s, or telephone the department.",
			maxPosts, inWords(left))
	}
	return nil
}

// Reports lists what is in a department's inbox, the oldest first, what was
// taken but is not finished too.
func (s *Store) Reports(dept ID) (list []Report, err error) {
	err = s.view(func(tx *bbolt.Tx) error {
		return tx.Bucket(bucketReports).ForEach(func(k, v []byte) error {
			row, body, err := unpack[reportRow](v)
			if err == nil && row.Dept == dept && !row.Finished {
				list = append(list, row.report(k, body))
			}
			return err
		})
	})
	slices.SortFunc(list, func(a, b Report) int {
		if order := a.At.Compare(b.At); order != 0 {
			return order
		}
		return bytes.Compare(a.ID[:], b.ID[:])
	})
	return list, err
}

// TakeReport takes a report for a person, who may take it again until it is
// finished. For anybody else it is fault.Stale with a TakenError; one that is
// finished or never was is fault.Gone.
func (s *Store) TakeReport(id, by ID, now time.Time) (taken Report, err error) {
	err = s.update(func(tx *bbolt.Tx) error {
		row, body, err := getReport(tx, id)
		if err != nil {
			return err
		}
		if row.TakenAt != 0 && row.TakenBy != by {
			cause := &TakenError{row.TakenBy, moment(row.TakenAt)}
			return fault.Wrap(cause, fault.Stale, "Somebody else has taken this report already.")
		}
		if row.Finished {
			return goneReport()
		}
		if row.TakenAt == 0 {
			row.TakenBy, row.TakenAt = by, stamp(now)
		}
		taken = row.report(id[:], body)
		return tx.Bucket(bucketReports).Put(id[:], pack(row, taken.Body...))
	})
	if err != nil {
		return Report{}, err
	}
	return taken, nil
}

// PassReport gives a report to another person, whoever has it.
func (s *Store) PassReport(id, to ID, now time.Time) error {
	return s.update(func(tx *bbolt.Tx) error {
		row, body, err := getReport(tx, id)
		if err != nil {
			return err
		}
		if row.Finished {
			return goneReport()
		}
		row.TakenBy, row.TakenAt = to, stamp(now)
		return tx.Bucket(bucketReports).Put(id[:], pack(row, slices.Clone(body)...))
	})
}

// FinishReport forgets the body of a report that was taken and is on record
// now. Sweep does it for those that were forgotten.
func (s *Store) FinishReport(id ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		row, _, err := getReport(tx, id)
		if err != nil {
			return err
		}
		if row.TakenAt == 0 {
			return fault.New(fault.Stale, "Nobody has taken this report yet.")
		}
		return finish(tx, id[:], row)
	})
}

func getReport(tx *bbolt.Tx, id ID) (reportRow, []byte, error) {
	v := tx.Bucket(bucketReports).Get(id[:])
	if v == nil {
		return reportRow{}, nil, goneReport()
	}
	return unpack[reportRow](v)
}

func goneReport() error {
	return fault.New(fault.Gone, "This report is no longer in the inbox.")
}

// finishTaken finishes what was taken before the given time.
func finishTaken(tx *bbolt.Tx, before time.Time) error {
	old := map[ID]reportRow{}
	err := tx.Bucket(bucketReports).ForEach(func(k, v []byte) error {
		row, _, err := unpack[reportRow](v)
		if err == nil && row.TakenAt != 0 && moment(row.TakenAt).Before(before) {
			old[ID(k)] = row
		}
		return err
	})
	if err != nil {
		return err
	}
	for id, row := range old {
		if err := finish(tx, id[:], row); err != nil {
			return err
		}
	}
	return nil
}

func finish(tx *bbolt.Tx, id []byte, row reportRow) error {
	if row.Finished {
		return nil
	}
	row.Finished = true
	if err := tx.Bucket(bucketReports).Put(id, pack(row)); err != nil {
		return err
	}
	return oweRewrite(tx)
}

func (r reportRow) report(id, body []byte) Report {
	return Report{ID(id), r.Dept, moment(r.At), slices.Clone(body), r.TakenBy, moment(r.TakenAt)}
}
