package post

import (
	"time"

	"tidemark/server/record"
)

// Hours are when somebody is there to be told, week by week. Without any
// opening that is always.
type Hours struct {
	Zone   *time.Location // UTC if nil
	Week   [7][]Opening   // by time.Weekday, in order and not overlapping
	Closed []Days         // no opening begins on these
}

// Opening is a part of a day, in minutes of the wall clock after its midnight.
// To may lie beyond 1440: a night shift is {1320, 1800}.
type Opening struct {
	From, To int
}

// searchDays is how far After looks; a department that is closed for longer has
// nobody to tell.
const searchDays = 400

// After returns the first instant within the hours at which d has elapsed
// within them since t, and false if there is none for over a year. The time that
// has elapsed is counted, not the hands of the clock: an opening from 00:00 to
// 06:00 is five hours long when the clocks go forward at two.
func (h *Hours) After(t record.Time, d time.Duration) (record.Time, bool) {
	if h.always() {
		return t.Add(d), true
	}
	// Openings of the day before may still last, and that day's night, too.
	first := record.DateOf(t.In(h.zone())) - 2
	for day := first; day < first+searchDays; day++ {
		if within(day, h.Closed) {
			continue
		}
		for _, o := range h.Week[day.UTC().Weekday()] {
			from, to := max(t, h.instant(day, o.From)), h.instant(day, o.To)
			if from >= to {
				continue
			}
			if open := to.Sub(from); d >= open {
				d, t = d-open, to
				continue
			}
			return from.Add(d), true
		}
	}
	return 0, false
}

func (h *Hours) always() bool {
	for _, day := range h.Week {
		if len(day) > 0 {
			return false
		}
	}
	return true
}

func (h *Hours) zone() *time.Location {
	if h.Zone == nil {
		return time.UTC
	}
	return h.Zone
}

// instant is when the wall clock shows so many minutes after midnight of a day.
// A time that comes twice is its first; one that is left out is read with the
// offset before the gap (RFC 5545, 3.3.5). time.Date promises neither.
func (h *Hours) instant(day record.Date, minutes int) record.Time {
	wall := day.UTC().Add(time.Duration(minutes) * time.Minute)
	first := wall.Add(-h.offset(wall.Add(-24 * time.Hour)))
	if wall.Add(-h.offset(first)).Equal(first) {
		return record.TimeOf(first)
	}
	// The clocks have been changed by then.
	second := wall.Add(-h.offset(wall.Add(24 * time.Hour)))
	if wall.Add(-h.offset(second)).Equal(second) {
		return record.TimeOf(second)
	}
	return record.TimeOf(first)
}

// offset is how far the zone's clock is ahead of UTC at t.
func (h *Hours) offset(t time.Time) time.Duration {
	_, seconds := t.In(h.zone()).Zone()
	return time.Duration(seconds) * time.Second
}
