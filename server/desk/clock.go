package desk

import (
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

func parseClock(text string) (time.Time, error) { return time.Parse("15:04", text) }

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
