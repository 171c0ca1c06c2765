package post

import (
	"cmp"
	"slices"
	"time"

	"tidemark/server/record"
)

// Wait is something that is tried again later, for a page to show.
type Wait struct {
	To      record.ID
	Problem record.ID // zero: whatever it is about, nothing goes to the addressee
	Why     string    // in plain words
	Tries   int
	Since   time.Time
	Next    time.Time
}

// pauses are what is left alone for a while: addressees, or lanes.
type pauses[K comparable] map[K]pause

type pause struct {
	why       string
	tries     int
	since     time.Time // of the first failure
	at, until time.Time // from the last failure on
}

const (
	shortest = 2 * time.Second  // after the first failure; doubled after each
	longest  = 15 * time.Minute // so that a target that is back is noticed by then
	most     = 24 * time.Hour   // that a target may ask for
)

// extend makes a pause, or a longer one. Chance, from 0 to 1, takes up to half
// of it away, so that not all come again at once.
func (p pauses[K]) extend(k K, f *Failure, now time.Time, chance float64) {
	q := p[k]
	if q.tries == 0 {
		q.since = now
	}
	q.why, q.tries, q.at = f.Why, q.tries+1, now
	q.until = now.Add(max(delay(q.tries, chance), min(f.After, most)))
	p[k] = q
}

func delay(tries int, chance float64) time.Duration {
	d := longest
	if doublings := tries - 1; doublings < 16 {
		d = min(longest, shortest<<doublings)
	}
	return d - time.Duration(chance*float64(d)/2)
}

// holds reports whether k is still left alone. Before the pause began is over,
// too: the clock was put back, nobody knows by how much.
func (p pauses[K]) holds(k K, now time.Time) bool {
	q := p[k]
	return !now.Before(q.at) && now.Before(q.until)
}

// next is how long it takes until something is to be tried again, at most limit.
func (p pauses[K]) next(now time.Time, limit time.Duration) time.Duration {
	for k, q := range p {
		if p.holds(k, now) {
			limit = min(limit, q.until.Sub(now))
		}
	}
	return limit
}

// tidy forgets what was not tried again when it could have been and is not being
// tried now: a person has taken the message off the list.
func (p pauses[K]) tidy(now time.Time, tried func(K) bool) {
	for k, q := range p {
		if now.Sub(q.until) > longest && !tried(k) {
			delete(p, k)
		}
	}
}

// waits lists pauses, the longest standing first.
func waits(targets pauses[record.ID], lanes pauses[lane]) []Wait {
	var list []Wait
	for to, q := range targets {
		list = append(list, Wait{to, record.ID{}, q.why, q.tries, q.since, q.until})
	}
	for l, q := range lanes {
		list = append(list, Wait{l.to, l.problem, q.why, q.tries, q.since, q.until})
	}
	slices.SortFunc(list, func(a, b Wait) int {
		return cmp.Or(a.Since.Compare(b.Since), slices.Compare(a.To[:], b.To[:]),
			slices.Compare(a.Problem[:], b.Problem[:]))
	})
	return list
}
