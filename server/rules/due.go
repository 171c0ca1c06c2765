package rules

import (
	"cmp"
	"slices"
	"time"

	"tidemark/server/record"
)

// Dueness is how far a task is from the day on which it is due.
type Dueness string

const (
	DueLater    Dueness = "later"
	DueSoon     Dueness = "soon"     // within soonDays
	DueNow      Dueness = "due"      // on its day, and as long as the grace lasts
	DueExtended Dueness = "extended" // the grace is over; a lead let it wait
	DueOver     Dueness = "overdue"
)

// soonDays is how long before its day a task is shown as coming (common
// practice, no source).
const soonDays = 7

// Interval is what made a task due.
type Interval string

const (
	ByDays   Interval = "days"
	ByMonths Interval = "months"
	ByUse    Interval = "use"
)

// DueTask is a task of one sealer and when it is due. Dates are operating days
// of the department.
type DueTask struct {
	record.Task
	Sealer   record.ID   `json:"sealer"`
	Due      record.Date `json:"due"`
	Through  record.Date `json:"through"` // not overdue through this day: grace, or an extension
	Standing Dueness     `json:"standing"`
	Decides  Interval    `json:"decides"`        // which interval ends first
	Used     int         `json:"used,omitempty"` // days in use since then, if such days count
	Last     *Kept       `json:"last,omitempty"` // nil: never, as far as the records go
	Since    record.Date `json:"since"`          // what the intervals count from
}

// Stops reports whether the sealer must not be used because of the task.
func (t *DueTask) Stops() bool { return t.Blocks && t.Standing == DueOver }

// Open reports whether the task waits to be done.
func (t *DueTask) Open() bool {
	return t.Standing == DueNow || t.Standing == DueExtended || t.Standing == DueOver
}

// Due lists the tasks of a sealer, the first due first; none for a retired one,
// or if no lead has set a plan for its type. Without new records a due day never
// moves: time only changes what it means.
func Due(v record.View, s *Sealer, day record.Date) []DueTask {
	d := GetDepartment(v, s.Dept)
	if d == nil || s.Readiness.State == record.Retired {
		return nil
	}
	m := d.Upkeep[s.Type]
	var list []DueTask
	for _, t := range m.Tasks {
		if due, ok := s.due(t, m.Begun[t.Code], day); ok {
			list = append(list, due)
		}
	}
	slices.SortStableFunc(list, func(a, b DueTask) int { return cmp.Compare(a.Due, b.Due) })
	return list
}

// DueTask returns one task of a sealer by its code.
func (s *Sealer) DueTask(v record.View, code string, day record.Date) (DueTask, bool) {
	list := Due(v, s, day)
	i := slices.IndexFunc(list, func(t DueTask) bool { return t.Code == code })
	if i < 0 {
		return DueTask{}, false
	}
	return list[i], true
}

// due works out one task. begun is the day from which the plan has it.
func (s *Sealer) due(t record.Task, begun, day record.Date) (DueTask, bool) {
	gone := 0
	begun = max(begun, s.Since)
	out, met := DueTask{Task: t, Sealer: s.ID, Since: begun}, record.Date(0)
	if s.Since == begun {
		gone = s.UnusedGone
	}
	if k := s.kept(t.Code); k != nil && k.Day > 0 {
		out.Since, out.Last, gone, met = k.Day, k, k.Unused, k.For
	}
	if !out.decide(s, begun, met, gone) {
		return out, false
	}
	if t.UseDays > 0 {
		out.Used = s.usedDays(out.Since, day, gone)
	}
	out.stand(s, day)
	return out, true
}

// decide finds the interval that ends first. met is the due day that the last
// time answered; false if the task has no interval at all.
func (t *DueTask) decide(s *Sealer, begun, met record.Date, gone int) bool {
	t.Due = 0
	take := func(day record.Date, by Interval) {
		if t.Due == 0 || day < t.Due {
			t.Due, t.Decides = day, by
		}
	}
	if t.Days > 0 {
		take(t.slot(begun, met, func(from record.Date, n int) record.Date { return toDate(int(from) + n*t.Days) }), ByDays)
	}
	if t.Months > 0 {
		take(t.slot(begun, met, func(from record.Date, n int) record.Date { return AddMonths(from, n*t.Months) }), ByMonths)
	}
	if t.UseDays > 0 {
		take(s.usedUp(t.Since, t.UseDays, gone), ByUse)
	}
	return t.Due != 0
}

// slot is the next day of a calendar interval. A floating task counts from the
// last time. A fixed one keeps its days, however early or late it is done: the
// first of them after the last time and after the one that this answered.
func (t *DueTask) slot(begun, met record.Date, nth func(record.Date, int) record.Date) record.Date {
	if !t.Fixed {
		return nth(t.Since, 1)
	}
	from, after := begun, max(t.Since, met)
	if t.Task.From != 0 {
		from = t.Task.From
		if t.Last == nil {
			after = t.Since - 1 // the very first of its days counts
		}
	}
	if from > after {
		return from
	}
	low, high := 0, 1 // the first n whose day is after: doubled, then halved
	for high < 1<<20 && nth(from, high) <= after {
		low, high = high, 2*high
	}
	for low+1 < high {
		if mid := (low + high) / 2; nth(from, mid) <= after {
			low = mid
		} else {
			high = mid
		}
	}
	return nth(from, high)
}

// stand tells what a day makes of the due day.
func (t *DueTask) stand(s *Sealer, day record.Date) {
	t.Through = toDate(int(t.Due) + t.Grace)
	extended := record.Date(0)
	if k := s.kept(t.Code); k != nil {
		extended = k.Until
	}
	switch {
	case day <= t.Through && day >= t.Due:
		t.Standing = DueNow
	case day < t.Due && int(t.Due)-int(day) <= soonDays:
		t.Standing = DueSoon
	case day < t.Due:
		t.Standing = DueLater
	case day <= extended:
		t.Standing = DueExtended
	default:
		t.Standing = DueOver
	}
	t.Through = max(t.Through, extended)
}

// overdueStop is the task because of which a sealer must not be used on a day,
// nil if there is none.
func (s *Sealer) overdueStop(v record.View, day record.Date) *DueTask {
	d := GetDepartment(v, s.Dept)
	if d == nil {
		return nil
	}
	m := d.Upkeep[s.Type]
	for _, t := range m.Tasks {
		if !t.Blocks {
			continue
		}
		if due, ok := s.due(t, m.Begun[t.Code], day); ok && due.Stops() {
			return &due
		}
	}
	return nil
}

// AddMonths is the same day n months on, or the last of that month if it has no
// such day: 31 January and one month is 28 or 29 February.
func AddMonths(d record.Date, n int) record.Date {
	y, m, day := d.Civil()
	months := int(m) - 1 + n
	y, months = y+months/12, months%12
	if months < 0 {
		y, months = y-1, months+12
	}
	last := time.Date(y, time.Month(months+2), 0, 0, 0, 0, 0, time.UTC).Day()
	return toDate(int(time.Date(y, time.Month(months+1), min(day, last), 0, 0, 0, 0, time.UTC).Unix() / 86400))
}

// lastDate is the last day of a year of four digits. Nothing is due after it.
const lastDate = 2932896

func toDate(day int) record.Date { return record.Date(max(1, min(lastDate, day))) }
