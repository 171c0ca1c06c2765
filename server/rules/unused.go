package rules

import (
	"slices"

	"tidemark/server/record"
)

// Which operating days count as days in use, for tasks that are due after so
// many of them. Every day counts, from the day a sealer came, unless somebody
// said on that day or before it that it would not be used or that the department
// was closed: silence never makes a task later. A check or packs on such a day
// show that it was used after all, and it counts again. A sealer out of service
// counts, too, until somebody says that it is not used.

// DaySpan is days from first to last.
type DaySpan struct {
	From record.Date `json:"from"`
	To   record.Date `json:"to"`
}

// keptUnused bounds the spans of days without use that a sealer remembers.
const keptUnused = 64

// days is how many days of a span lie after one day and not after another.
func (s DaySpan) days(after, through record.Date) int {
	return max(0, int(min(s.To, through))-int(max(s.From-1, after)))
}

// withSpan adds days to spans that are in order and apart, and keeps them so.
func withSpan(spans []DaySpan, add DaySpan) []DaySpan {
	if add.To < add.From {
		return spans
	}
	var out []DaySpan
	for _, s := range spans {
		if s.To+1 < add.From || add.To+1 < s.From {
			out = append(out, s)
			continue
		}
		add.From, add.To = min(add.From, s.From), max(add.To, s.To)
	}
	at, _ := slices.BinarySearchFunc(out, add, func(s, o DaySpan) int { return int(s.From) - int(o.From) })
	return slices.Insert(out, at, add)
}

// withoutDay takes a day out of the spans.
func withoutDay(spans []DaySpan, day record.Date) []DaySpan {
	var out []DaySpan
	for _, s := range spans {
		if day < s.From || day > s.To {
			out = append(out, s)
			continue
		}
		for _, part := range []DaySpan{{s.From, day - 1}, {day + 1, s.To}} {
			if part.From <= part.To {
				out = append(out, part)
			}
		}
	}
	return out
}

// leaveUnused notes days without use. What was said afterwards changes nothing.
func (s *Sealer) leaveUnused(days DaySpan, said record.Date) {
	days.From, days.To = max(days.From, said, 1), min(days.To, lastDate)
	s.Unused = withSpan(s.Unused, days)
	for len(s.Unused) > keptUnused {
		s.forgetSpan()
	}
}

// forgetSpan drops the oldest days without use, counted by each task that was
// last done before them.
func (s *Sealer) forgetSpan() {
	gone := s.Unused[0]
	s.Unused = s.Unused[1:]
	s.Kept = slices.Clone(s.Kept)
	for i := range s.Kept {
		s.Kept[i].Unused += gone.days(s.Kept[i].Day, gone.To)
	}
	s.UnusedGone += gone.days(s.Since, gone.To)
}

// wasUsed lets a day count as in use again.
func (s *Sealer) wasUsed(day record.Date) bool {
	if !slices.ContainsFunc(s.Unused, func(u DaySpan) bool { return u.From <= day && day <= u.To }) {
		return false
	}
	s.Unused = withoutDay(s.Unused, day)
	return true
}

// usedDays is how many operating days after one day, through another, a sealer
// was in use. gone are days without use since then that are no longer among
// Unused.
func (s *Sealer) usedDays(after, through record.Date, gone int) int {
	n := int(through) - int(after) - gone
	for _, u := range s.Unused {
		n -= u.days(after, through)
	}
	return max(0, n)
}

// usedUp is the day on which n days in use are over, counted after a day; every
// day to come counts that nobody has said anything about.
func (s *Sealer) usedUp(after record.Date, n, gone int) record.Date {
	day := int(after) + n + gone
	for _, u := range s.Unused {
		if int(u.From) > day {
			break
		}
		day += u.days(after, u.To)
	}
	return toDate(day)
}
