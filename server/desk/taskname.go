package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// taskName is what the department calls the task that a record is about; as the
// plan has it now, or as it is commonly called.
func taskName(v record.View, r *record.Record, body record.Body) string {
	code := ""
	switch b := body.(type) {
	case *record.TaskDone:
		code = b.Task
	case *record.TaskSkipped:
		code = b.Task
	case *record.TaskExtended:
		code = b.Task
	default:
		return ""
	}
	s := rules.GetSealer(v, r.Subject.ID)
	if s == nil {
		return code
	}
	return nameOfTask(v, s, code)
}

func nameOfTask(v record.View, s *rules.Sealer, code string) string {
	if d := rules.GetDepartment(v, s.Dept); d != nil {
		for _, t := range d.Upkeep[s.Type].Tasks {
			if t.Code == code {
				return t.Name
			}
		}
	}
	if t, ok := rules.CommonTask(s.Type, code); ok {
		return t.Name
	}
	return code
}
