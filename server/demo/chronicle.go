package demo

import (
	"fmt"
	"slices"
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// The invented department keeps these hours.
const (
	zoneName = "America/New_York"
	dayStart = 5 * 60 // minutes after midnight
)

// chronicle is what happens and when. It is written in any order and told in
// order of time; what lies after its end is not told.
type chronicle struct {
	zone   *time.Location
	end    time.Time
	today  record.Date // operating day of the end
	events []event
}

type event struct {
	at time.Time
	do func()
}

// newChronicle begins an empty chronicle that ends at a moment.
func newChronicle(end time.Time) chronicle {
	zone := rules.Zone(zoneName)
	today := record.DateOf(end.In(zone))
	if rules.Begin(zone, dayStart, today).Time().After(end) {
		today--
	}
	return chronicle{zone: zone, end: end, today: today}
}

// at writes down what happens on an operating day at a time of day.
func (c *chronicle) at(d record.Date, clock string, do func()) { c.add(c.moment(d, clock), do) }

// add writes down what happens at a moment.
func (c *chronicle) add(t time.Time, do func()) { c.events = append(c.events, event{t, do}) }

// told gives the events up to the end, in order.
func (c *chronicle) told() []event {
	late := func(e event) bool { return e.at.After(c.end) }
	c.events = slices.DeleteFunc(c.events, late)
	slices.SortStableFunc(c.events, func(a, b event) int { return a.at.Compare(b.at) })
	return c.events
}

// moment is a time of an operating day by the clock on the wall: "02:40" is in
// the night that ends it. It panics at a time that no clock shows: the script is
// part of the program.
func (c *chronicle) moment(d record.Date, clock string) time.Time {
	var hour, minute int
	if _, err := fmt.Sscanf(clock, "%2d:%2d", &hour, &minute); err != nil {
		panic("demo: no time of day: " + clock)
	}
	if hour*60+minute < dayStart {
		d++
	}
	y, m, dom := d.Civil()
	return time.Date(y, m, dom, hour, minute, 0, 0, c.zone)
}

// day is the operating day that lies so many days before today.
func (c *chronicle) day(back int) record.Date { return c.today - record.Date(back) }

// weekday is the last working day that lies at least so many days back.
func (c *chronicle) weekday(back int) record.Date {
	d := c.day(back)
	for weekend(d) {
		d--
	}
	return d
}

// nextWeekday is the first working day after d.
func nextWeekday(d record.Date) record.Date {
	for d++; weekend(d); d++ {
	}
	return d
}

func weekend(d record.Date) bool {
	w := d.UTC().Weekday()
	return w == time.Saturday || w == time.Sunday
}
