package rules

import (
	"slices"

	"tidemark/server/record"
)

// evolveUse notes for each sealer the days on which it is not used.
func evolveUse(st record.Stage, r *record.Record, body record.Body) {
	b, ok := body.(*record.NotUsed)
	d := GetDepartment(st, r.Dept)
	if !ok || d == nil {
		return
	}
	sealers := b.Sealers
	if len(sealers) == 0 {
		sealers = d.Sealers // closed
	}
	for _, id := range sealers {
		if old := GetSealer(st, id); old != nil {
			s := *old
			s.leaveUnused(DaySpan{b.From, b.To}, max(r.Day, r.Effect.Arrived))
			st.Set(s.subject(), &s)
		}
	}
}

// closures gives a new sealer the days on which its department will be closed.
func (s *Sealer) closures(d *Department) {
	if d == nil {
		return
	}
	for _, n := range d.NotUsed {
		if len(n.Sealers) == 0 && n.To >= s.Since {
			s.leaveUnused(DaySpan{n.From, n.To}, s.Since)
		}
	}
}

// setTasks puts a plan of maintenance in place. A task that it had already goes
// on as it was.
func (d *Department) setTasks(r *record.Record, b *record.MaintenanceSet) {
	m := Upkeep{Tasks: b.Tasks, Begun: map[string]record.Date{}, Set: r.Seq, By: r.By}
	for _, t := range b.Tasks {
		m.Begun[t.Code] = r.Day
		if before, ok := d.Upkeep[b.SealerType].Begun[t.Code]; ok {
			m.Begun[t.Code] = before
		}
	}
	d.Upkeep = clone(d.Upkeep)
	d.Upkeep[b.SealerType] = m
}

// applyMaintenance puts what was done to a sealer into a copy of it, and reports
// whether the record is about that.
func (s *Sealer) applyMaintenance(r *record.Record, body record.Body) bool {
	switch b := body.(type) {
	case *record.TaskDone:
		s.keep(r, b.Task, b.For, false)
	case *record.TaskSkipped:
		s.keep(r, b.Task, b.For, true)
	case *record.TaskExtended:
		k := Kept{Task: b.Task, Seq: record.None}
		if before := s.kept(b.Task); before != nil {
			k = *before
		}
		k.Until = b.Until
		s.keepRow(k)
	case *record.Calibrated:
		s.keep(r, record.CalibrationTask, b.For, false)
	case *record.FoundJudged:
		if b.Left == record.Kept {
			s.Calibrated = append(slices.DeleteFunc(slices.Clone(s.Calibrated),
				func(g Good) bool { return g.Pouch == b.Pouch }), Good{b.Pouch, r.Seq, r.Happened.To, r.By})
		}
	case *record.Check:
		return b.Outcome != record.NotYet && s.wasUsed(r.Day)
	case *record.Packs:
		return s.wasUsed(r.Day)
	default:
		return false
	}
	return true
}

// keep notes that a task was done or left out. What is told late of an earlier
// day than the last one changes nothing.
func (s *Sealer) keep(r *record.Record, task string, due record.Date, skipped bool) {
	if before := s.kept(task); before != nil && before.Day > r.Day {
		return
	}
	s.keepRow(Kept{Task: task, Day: r.Day, At: r.Happened.To, For: due, Seq: r.Seq, By: r.By, Skipped: skipped})
}

func (s *Sealer) keepRow(k Kept) {
	s.Kept = append(slices.DeleteFunc(slices.Clone(s.Kept), func(o Kept) bool { return o.Task == k.Task }), k)
}
