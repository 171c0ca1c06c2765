package desk

import (
	"fmt"
	"time"

	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func parseClock(text string) (time.Time, error) { return time.Parse("15:04", text) }

func parseUTC(text string) (time.Time, error) { return time.Parse(time.RFC3339, text) }

// clockText is the time of day in a department's zone, with the date if it is
// not today's.
func clockText(dept *rules.Department, t, now record.Time) string {
	if t == 0 {
		return ""
	}
	zone := rules.Zone(dept.Zone)
	at, today := t.In(zone), now.In(zone)
	switch {
	case record.DateOf(at) == record.DateOf(today):
		return at.Format("15:04")
	case record.DateOf(at) == record.DateOf(today)-1:
		return "yesterday " + at.Format("15:04")
	case at.Year() == today.Year():
		return at.Format("2 Jan 15:04")
	}
	return at.Format("2 Jan 2006 15:04")
}

// Blank is the frame of a page that shows nothing of the desk's.
func (d *Desk) Blank(who Caller) (f Frame, err error) {
	if _, err := d.may(who, "Look"); err != nil {
		return f, err
	}
	d.ledger.View(func(v record.View) { f = d.frame(v, who) })
	return f, nil
}

// In returns an instant in the department's zone.
func (f *Frame) In(t record.Time) time.Time { return t.In(rules.Zone(f.Dept.Zone)) }

// Mark is what prints and mails carry of the ledger: its size and the first
// eight digits of its root, so that paper witnesses it.
func (d *Desk) Mark() string {
	size, root := d.ledger.Root()
	return fmt.Sprintf("record %d · %x", size, root[:4])
}

// RetryAfter returns how long to wait before a try that err refused.
func RetryAfter(err error) (time.Duration, bool) { return people.RetryAfter(err) }

// NextDay tells when the operating day after d begins.
func (f *Frame) NextDay(d record.Date) string {
	next := rules.Begin(rules.Zone(f.Dept.Zone), f.Dept.DayStart, d+1)
	switch {
	case next <= f.Now:
		return "now"
	case record.DateOf(f.In(next)) == record.DateOf(f.In(f.Now)):
		return "today " + f.In(next).Format("15:04")
	case record.DateOf(f.In(next)) == record.DateOf(f.In(f.Now))+1:
		return "tomorrow " + f.In(next).Format("15:04")
	}
	return f.In(next).Format("2 Jan 15:04")
}

// EngineeringWord is the department's word for clinical engineering.
func (f *Frame) EngineeringWord() string {
	if f.Dept.Engineering != "" {
		return f.Dept.Engineering
	}
	return "Clinical engineering"
}

// Began tells when the operating day began.
func (f *Frame) Began() record.Time {
	return rules.Begin(rules.Zone(f.Dept.Zone), f.Dept.DayStart, f.Day)
}
