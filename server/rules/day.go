package rules

import (
	"sync"
	"time"

	"tidemark/server/record"
)

var zones sync.Map // name to *time.Location: loading one reads a file

// Zone returns a department's time zone. A name that cannot be loaded any more
// stands for UTC: a record that exists must never fail.
func Zone(name string) *time.Location {
	if z, ok := zones.Load(name); ok {
		return z.(*time.Location)
	}
	z, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		z = time.UTC
	}
	zones.Store(name, z)
	return z
}

// Begin is the first instant of operating day d: the first at which the local
// clock shows d's date and day start, or anything later. It exists once for
// every date in every zone: an hour that the clock skips begins after the gap,
// one that it shows twice begins the first time.
func Begin(zone *time.Location, dayStart int, d record.Date) record.Time {
	wall := int64(d)*86400 + int64(dayStart)*60
	t := wall - 26*3600 // no zone is ahead of UTC by more than 14 hours
	for {
		at := time.Unix(t, 0).In(zone)
		_, offset := at.Zone()
		_, end := at.ZoneBounds()
		if candidate := max(t, wall-int64(offset)); end.IsZero() || candidate < end.Unix() {
			return record.Time(candidate * 1000)
		}
		t = end.Unix()
	}
}

// label is the operating day of an instant: the latest date that has begun.
func label(zone *time.Location, dayStart int, t record.Time) record.Date {
	d := record.DateOf(t.In(zone)) + 1
	for Begin(zone, dayStart, d) > t {
		d--
	}
	return d
}

// Day is the operating day of a department now. It never goes back, whatever
// the clock or the settings do.
func (d *Department) Day(now record.Time) record.Date {
	return max(d.LastDay, label(Zone(d.Zone), d.DayStart, now))
}

// dayOf is the operating day of something that happened at t and is told now.
// What happens now counts for the day as it is, even if settings or a clock that
// was put right would call it yesterday.
func (d *Department) dayOf(t, now record.Time) record.Date {
	if t >= now {
		return d.Day(now)
	}
	return min(d.Day(now), label(Zone(d.Zone), d.DayStart, t))
}

// Next is the instant at which the next operating day begins.
func (d *Department) Next(now record.Time) record.Time {
	return Begin(Zone(d.Zone), d.DayStart, d.Day(now)+1)
}

// covers is the next operating day if a check that began at t is early enough
// before it, else 0.
func (d *Department) covers(day record.Date, t record.Time) record.Date {
	next := Begin(Zone(d.Zone), d.DayStart, day+1)
	if t < next && next.Sub(t) <= time.Duration(d.EarlyMinutes)*time.Minute {
		return day + 1
	}
	return 0
}
