package rules

import (
	"slices"

	"tidemark/server/record"
)

// DayStatus is what became of the check of one operating day.
type DayStatus string

const (
	DayChecked  DayStatus = "checked"        // checked before first use, as far as is known
	DayAfterUse DayStatus = "after-use"      // checked, but packs were counted before it
	DayLate     DayStatus = "late"           // only written down later
	DayImported DayStatus = "imported"       // a file of past records says so
	DayBefore   DayStatus = "before"         // between such days, before the records here begin
	DayUnsigned DayStatus = "not-signed-off" // only by somebody who was not signed off, and no lead accepted it
	DayMissing  DayStatus = "missing"        // nobody checked, nobody said it was not used
	DayNotUsed  DayStatus = "not-used"       // said by a person, on that day or before it
	DayClosed   DayStatus = "closed"         // the department was closed
	DayOut      DayStatus = "out-of-service" // out of service from its beginning to its end
	DayOpen     DayStatus = "not-over"       // today, not checked and, as far as is known, not used yet
)

// DayStatuses lists them in the order of their columns: days in use come first.
func DayStatuses() []DayStatus {
	return []DayStatus{DayChecked, DayAfterUse, DayLate, DayUnsigned, DayImported, DayMissing, DayNotUsed, DayClosed, DayOut, DayOpen, DayBefore}
}

// InUse is how many of the days count as days in use.
func InUse(rows []DayRow) (n int) {
	for _, r := range rows {
		switch r.Status {
		case DayNotUsed, DayClosed, DayOut, DayOpen, DayBefore:
		default:
			n++
		}
	}
	return n
}

// DayRow is one operating day of a sealer. Said is true if somebody said
// afterwards that it was not used: that does not make it so, but explains it.
type DayRow struct {
	Day    record.Date `json:"day"`
	Status DayStatus   `json:"status"`
	Check  record.Seq  `json:"check"` // the first check that counts for it, None
	Said   bool        `json:"said_later,omitempty"`
}

// Completeness tells for each operating day from first to last what became of the
// check of a sealer. Records are those of the sealer's chain from some time before
// first on, unused the statements of its department, both oldest first; today is
// the operating day that is not over yet. A day that nobody spoke about counts as
// a day in use: not recording never makes it better.
func Completeness(s *Sealer, records, unused []record.Record, first, last, today record.Date) []DayRow {
	first = max(first, min(s.Since, firstImported(records, s.Since)))
	var rows []DayRow
	records = accepted(withoutVoided(records))
	for day := first; day <= last; day++ {
		row := dayRow(s, records, unused, day)
		if row.Status == DayMissing && day >= today && !usedOn(records, day) {
			row.Status = DayOpen
		}
		rows = append(rows, row)
	}
	return rows
}

// withoutVoided leaves out the records that were taken back.
func withoutVoided(records []record.Record) (list []record.Record) {
	amended := AmendmentsOf(records)
	if len(amended) == 0 {
		return records
	}
	for i := range records {
		if _, _, _, gone := amended.Now(&records[i], nil); !gone {
			list = append(list, records[i])
		}
	}
	return list
}

// usedOn reports whether packs were counted on a day.
func usedOn(records []record.Record, day record.Date) bool {
	return slices.ContainsFunc(records, func(r record.Record) bool {
		body, err := r.Content()
		_, packs := body.(*record.Packs)
		return err == nil && packs && r.Day == day
	})
}

func dayRow(s *Sealer, records, unused []record.Record, day record.Date) DayRow {
	row := DayRow{Day: day, Status: DayMissing, Check: record.None}
	var began, used record.Time
	for i := range records {
		r := &records[i]
		body, err := r.Content()
		if err != nil || r.Day != day && r.Covers != day {
			continue
		}
		switch b := body.(type) {
		case *record.Imported:
			if b.What == record.PastCheck && row.Status == DayMissing {
				row.Status, row.Check = DayImported, r.Seq
			}
		case *record.Check:
			if b.Outcome != record.Pass && b.Outcome != record.Fail {
				continue // a test that says nothing is no check
			}
			row.take(r, &began)
		case *record.Packs:
			if r.Day == day && (used == 0 || r.Happened.From < used) {
				used = r.Happened.From
			}
		}
	}
	if row.Status == DayChecked && used != 0 && used < began {
		row.Status = DayAfterUse
	}
	if row.Status == DayMissing && day < s.Since {
		row.Status = DayBefore
	}
	if row.Status == DayMissing {
		row.explain(s, records, unused)
	}
	return row
}

// firstImported is the first day that a file of past records tells a check of.
func firstImported(records []record.Record, first record.Date) record.Date {
	for i := range records {
		body, _ := records[i].Content()
		if b, ok := body.(*record.Imported); ok && b.What == record.PastCheck {
			first = min(first, records[i].Day)
		}
	}
	return first
}

// take lets a check count for the day; one in time is better than one told late.
func (row *DayRow) take(r *record.Record, began *record.Time) {
	status := DayChecked
	switch {
	case r.Effect.Nothing == NothingUntrained:
		status = DayUnsigned
	case r.Late:
		status = DayLate
	}
	better := dayWorth[status] - dayWorth[row.Status]
	if better > 0 || better == 0 && r.Happened.From < *began {
		row.Status, row.Check, *began = status, r.Seq, r.Happened.From
	}
}

// dayWorth orders what can be known of a day's check.
var dayWorth = map[DayStatus]int{DayImported: 1, DayUnsigned: 2, DayLate: 3, DayChecked: 4}

// accepted are the records with those checks no longer marked that a lead let
// count after all.
func accepted(records []record.Record) []record.Record {
	var seqs []record.Seq
	for i := range records {
		body, _ := records[i].Content()
		if b, ok := body.(*record.CheckAccepted); ok {
			seqs = append(seqs, b.Check)
		}
	}
	if seqs == nil {
		return records
	}
	records = slices.Clone(records)
	for i := range records {
		if slices.Contains(seqs, records[i].Seq) {
			records[i].Effect.Nothing = ""
		}
	}
	return records
}

// explain looks for a reason why nobody checked.
func (row *DayRow) explain(s *Sealer, records, unused []record.Record) {
	if outAllDay(records, row.Day) {
		row.Status = DayOut
		return
	}
	used := usedOn(records, row.Day)
	for i := range unused {
		r := &unused[i]
		body, _ := r.Content()
		b, ok := body.(*record.NotUsed)
		if !ok || row.Day < b.From || row.Day > b.To || len(b.Sealers) > 0 && !slices.Contains(b.Sealers, s.ID) {
			continue
		}
		if r.Day > row.Day || used { // packs were counted: it was used, whatever was said
			row.Said = row.Said || !used
			continue
		}
		row.Status = DayNotUsed
		if len(b.Sealers) == 0 {
			row.Status = DayClosed
		}
	}
}

// outAllDay reports whether the sealer was out of service when the day began and
// nothing brought it back before the next one.
func outAllDay(records []record.Record, day record.Date) bool {
	out := false
	for i := range records {
		r := &records[i]
		arrived := max(r.Day, r.Effect.Arrived)
		if r.Effect.Readiness == nil || arrived > day {
			continue
		}
		now := r.Effect.Readiness.State
		still := now == record.OutOfService || now == record.WithEngineering || now == record.Retired
		if arrived == day && !(out && still) {
			return false
		}
		out = still
	}
	return out
}

// Count is how many days have each status.
func Count(rows []DayRow) map[DayStatus]int {
	n := map[DayStatus]int{}
	for _, r := range rows {
		n[r.Status]++
	}
	return n
}
