package post

import (
	"strconv"
	"time"

	"tidemark/server/record"
)

// Route is whom to tell of a problem, one after the other until somebody has
// seen it, and when. It is a value: the same questions have the same answers,
// whatever the clock and however often the process was started.
type Route struct {
	Hours  Hours
	People []Addressee
	Unseen time.Duration // until the next one is told; elapsed time within the hours
}

// Addressee is somebody on a route, and when they are away.
type Addressee struct {
	ID   record.ID
	Away []Days
}

// Days are calendar days from From through To, by the clock of the route.
type Days struct {
	From, To record.Date
}

// Step is to tell one addressee of a problem.
type Step struct {
	ID  record.ID // of the record of it, so that no restart can make it twice
	N   int       // place on the route, from 0
	To  record.ID
	Due record.Time
}

// Next returns the step that follows when the route has been gone up to, not
// including, place n, and false if nobody is left. Cause is the record that set
// the route going: the one that opened the problem, or a later one that began it
// anew. At is when the step before was recorded; for the first, when cause was.
//
// Urgent is the clock around and at once; otherwise only minutes within the
// hours count, and a step falls within them. Addressees who are away on the day
// are passed over; if all that are left are away, the first of them is told all
// the same.
func (r *Route) Next(cause record.ID, n int, at record.Time, urgent bool) (Step, bool) {
	if n < 0 || n >= len(r.People) {
		return Step{}, false
	}
	var wait time.Duration
	if n > 0 {
		wait = r.Unseen
	}
	due, ok := at.Add(wait), true
	if !urgent {
		due, ok = r.Hours.After(at, wait)
	}
	if !ok {
		return Step{}, false
	}
	n = r.there(n, due)
	id := cause.Derive("tell " + strconv.Itoa(n))
	return Step{ID: id, N: n, To: r.People[n].ID, Due: due}, true
}

// there is the first place from n on whose addressee is not away at t, or n.
func (r *Route) there(n int, t record.Time) int {
	day := record.DateOf(t.In(r.Hours.zone()))
	for i, p := range r.People[n:] {
		if !within(day, p.Away) {
			return n + i
		}
	}
	return n
}

func within(day record.Date, list []Days) bool {
	for _, d := range list {
		if d.From <= day && day <= d.To {
			return true
		}
	}
	return false
}
