package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// SaidTask is what somebody says of a task of a sealer: done, skipped or
// extended.
type SaidTask struct {
	Entry
	Sealer record.ID
	Said   record.Body
	Who    *Person
}

// longest are the bounds of a plan and of an extension, in days.
const (
	longestInterval  = 10 * 366
	longestExtension = 366
	mostTasks        = 40
)

// Maintain decides on such a statement. Nothing that was done is refused because
// it came late; a task that somebody else did meanwhile is, once.
func Maintain(v record.View, c SaidTask, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	retired := s.Readiness.State == record.Retired
	if retired && !c.Queued {
		return nil, s.notHere()
	}
	code, due := taskOf(c.Said)
	t, known := s.taskFor(v, d, code, now)
	if !known {
		return nil, fault.New(fault.Unknown, "There is no such task for this sealer.")
	}
	if err := c.allowed(d, &t, due, now); err != nil {
		return nil, err
	}
	dr, err := c.draft(d, s.subject(), c.Said, now)
	if err != nil {
		return nil, err
	}
	switch c.Said.(type) {
	case *record.TaskDone:
		if t.Recheck && !retired {
			s.disturb(Standing(v, s, now), &dr.Record, WhyMaintained, 0)
		}
	case *record.TaskExtended:
		dr.Record.Meaning = record.Approved
	}
	return []Draft{dr}, nil
}

// taskFor is a task as it stands. A retired sealer has none; what a phone kept of
// it from before is held against the plan alone.
func (s *Sealer) taskFor(v record.View, d *Department, code string, now record.Time) (DueTask, bool) {
	if s.Readiness.State != record.Retired {
		return s.DueTask(v, code, d.Day(now))
	}
	list := d.Upkeep[s.Type].Tasks
	i := slices.IndexFunc(list, func(t record.Task) bool { return t.Code == code })
	if i < 0 {
		return DueTask{}, false
	}
	return DueTask{Task: list[i], Sealer: s.ID}, true
}

func taskOf(body record.Body) (code string, due record.Date) {
	switch b := body.(type) {
	case *record.TaskDone:
		return b.Task, b.For
	case *record.TaskSkipped:
		return b.Task, b.For
	case *record.TaskExtended:
		return b.Task, 0
	case *record.Calibrated:
		return record.CalibrationTask, b.For
	}
	return "", 0
}

func (c *SaidTask) allowed(d *Department, t *DueTask, due record.Date, now record.Time) error {
	switch b := c.Said.(type) {
	case *record.TaskDone, *record.Calibrated:
		if c.Who == nil || !c.Who.Has(t.Who...) {
			return fault.New(fault.Forbidden, "“%s” is not for you to do, by the department's plan.", t.Name)
		}
		if done, ok := b.(*record.TaskDone); ok && t.Code == record.CalibrationTask && done.Report == "" {
			return fault.Field("report", "Give the number of the calibration report, or enter what was measured.")
		}
	case *record.TaskSkipped:
		if c.Who == nil || !c.Who.Has(append([]record.Role{record.Lead}, t.Who...)...) {
			return fault.New(fault.Forbidden, "“%s” is not yours to skip, by the department's plan.", t.Name)
		}
		if strings.TrimSpace(b.Reason) == "" {
			return fault.Field("reason", "Give the reason: it stays with your name.")
		}
		if t.Blocks {
			return fault.New(fault.Invalid, "“%s” cannot be skipped. A lead can extend it.", t.Name)
		}
	case *record.TaskExtended:
		return extensionIsSound(b, d.Day(now))
	default:
		return fault.New(fault.Invalid, "This is nothing that is done to a sealer.")
	}
	if due != 0 && due != t.Due && !c.fact() {
		return fault.New(fault.Stale, "“%s” was done meanwhile, or the plan was changed. Look at it again.", t.Name)
	}
	return nil
}

func extensionIsSound(b *record.TaskExtended, today record.Date) error {
	switch {
	case b.Until < today:
		return fault.Field("until", "Give the last day it may wait, today or later.")
	case int(b.Until)-int(today) > longestExtension:
		return fault.Field("until", "A year is the longest.")
	case strings.TrimSpace(b.Reason) == "":
		return fault.Field("reason", "Give the reason: it stays with your name.")
	}
	return nil
}

func tasksAreSound(b *record.MaintenanceSet) error {
	if !slices.Contains([]record.SealerType{record.BarDial, record.BarDisplay, record.Impulse, record.Continuous}, b.SealerType) {
		return fault.Field("type", "Choose how the sealer is set.")
	}
	if len(b.Tasks) > mostTasks {
		return fault.Field("tasks", "That is more than %d tasks.", mostTasks)
	}
	seen := map[string]bool{}
	for i := range b.Tasks {
		if err := taskIsSound(&b.Tasks[i], seen); err != nil {
			return numbered("tasks", "Task", i, err)
		}
	}
	return nil
}

func taskIsSound(t *record.Task, seen map[string]bool) error {
	far := func(n int) bool { return n < 0 || n > longestInterval }
	switch {
	case t.Code == "" || seen[t.Code]:
		return fault.Field("code", "each task needs a code of its own.")
	case strings.TrimSpace(t.Name) == "":
		return fault.Field("name", "say what is to be done.")
	case far(t.Days) || far(t.UseDays) || far(t.Grace) || t.Months < 0 || t.Months > 120:
		return fault.Field("every", "ten years is the longest interval.")
	case t.Days == 0 && t.Months == 0 && t.UseDays == 0:
		return fault.Field("every", "say how often: days, months or days in use.")
	case len(t.Who) == 0 || rolesAreSound(t.Who) != nil || slices.Contains(t.Who, record.Surveyor):
		return fault.Field("who", "say who may do it.")
	case slices.Contains(t.Who, record.Technician) && strings.TrimSpace(t.Source) == "":
		return fault.Field("source", "name the page of the IFU that lists it for users.")
	case t.Blocks && t.Code != record.CalibrationTask:
		return fault.Field("blocks", "only calibration stops a sealer; anything else is shown as overdue.")
	case t.Fixed && t.Days == 0 && t.Months == 0:
		return fault.Field("fixed", "days in use have no fixed days.")
	}
	seen[t.Code] = true
	return nil
}
