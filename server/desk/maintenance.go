package desk

import (
	"context"
	"errors"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// TaskIn says that a task of a sealer was done. For is the due day that its page
// showed; without one it is the day that it was due.
type TaskIn struct {
	From
	Code    string      `param:"code" json:"-"`
	Task    string      `param:"task" json:"-"`
	For     record.Date `form:"for" json:"for,omitzero"`
	Reading string      `form:"reading" json:"reading,omitempty"`
	Part    string      `form:"part" json:"part,omitempty"`
	Report  string      `form:"report" json:"report,omitempty"`
}

// DoTask records that a task was done.
func (d *Desk) DoTask(ctx context.Context, who Caller, in TaskIn) (Done, error) {
	return d.maintain(ctx, who, "DoTask", in.From, in.Code, func(s *rules.Sealer) (record.Body, error) {
		due, err := d.dueFor(in.From, s, in.Task, in.For)
		return &record.TaskDone{Task: in.Task, For: due, Reading: strings.TrimSpace(in.Reading),
			Part: strings.TrimSpace(in.Part), Report: strings.TrimSpace(in.Report)}, err
	})
}

// SkipIn leaves a task out this time.
type SkipIn struct {
	From
	Code   string      `param:"code" json:"-"`
	Task   string      `param:"task" json:"-"`
	For    record.Date `form:"for" json:"for,omitzero"`
	Reason string      `form:"reason" json:"reason"`
}

// SkipTask records that a task is left out this time.
func (d *Desk) SkipTask(ctx context.Context, who Caller, in SkipIn) (Done, error) {
	return d.maintain(ctx, who, "SkipTask", in.From, in.Code, func(s *rules.Sealer) (record.Body, error) {
		due, err := d.dueFor(in.From, s, in.Task, in.For)
		return &record.TaskSkipped{Task: in.Task, For: due, Reason: strings.TrimSpace(in.Reason)}, err
	})
}

// ExtendIn lets a task wait. Until is the last day.
type ExtendIn struct {
	From
	Code   string      `param:"code" json:"-"`
	Task   string      `param:"task" json:"-"`
	Until  record.Date `form:"until" json:"until"`
	Reason string      `form:"reason" json:"reason"`
}

// ExtendTask records that a lead lets a task wait.
func (d *Desk) ExtendTask(ctx context.Context, who Caller, in ExtendIn) (Done, error) {
	return d.maintain(ctx, who, "ExtendTask", in.From, in.Code, func(*rules.Sealer) (record.Body, error) {
		return &record.TaskExtended{Task: in.Task, Until: in.Until, Reason: strings.TrimSpace(in.Reason)}, nil
	})
}

func (d *Desk) maintain(ctx context.Context, who Caller, what use, in From, code string,
	read func(*rules.Sealer) (record.Body, error)) (Done, error) {
	person, err := d.may(who, what)
	if err != nil {
		return Done{}, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return Done{}, err
	}
	if in.ID.IsZero() {
		in.ID = d.NewID()
	}
	e, err := d.entry(who, in)
	if err != nil {
		return Done{}, err
	}
	body, err := read(s)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in, e, sealerSubject(s), body,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Maintain(v, rules.SaidTask{Entry: e, Sealer: s.ID, Said: body, Who: person}, now)
		})
}

// dueFor is the due day that a task answers: as said, as in an earlier sending,
// or as it stands.
func (d *Desk) dueFor(in From, s *rules.Sealer, task string, said record.Date) (record.Date, error) {
	if said != 0 {
		return said, nil
	}
	if r, found, err := d.ledger.Find(in.ID); err != nil {
		return 0, err
	} else if found {
		switch b, _ := r.Content(); b := b.(type) {
		case *record.TaskDone:
			return b.For, nil
		case *record.TaskSkipped:
			return b.For, nil
		case *record.Calibrated:
			return b.For, nil
		}
	}
	var due record.Date
	d.ledger.View(func(v record.View) {
		if dept := rules.GetDepartment(v, s.Dept); dept != nil {
			t, _ := s.DueTask(v, task, dept.Day(d.now()))
			due = t.Due
		}
	})
	return due, nil
}

// TaskSetIn changes one task of the plan of a type, adds one, or takes one out.
// Plan is the record of the plan that its page showed.
type TaskSetIn struct {
	From
	SealerType record.SealerType `param:"type" json:"-"`
	Code       string            `param:"task" json:"-"` // "new": a task of the department's own
	Plan       record.Seq        `form:"plan" json:"plan"`
	Name       string            `form:"name" json:"name"`
	Days       int               `form:"days" json:"days,omitempty"`
	Months     int               `form:"months" json:"months,omitempty"`
	UseDays    int               `form:"use_days" json:"use_days,omitempty"`
	Grace      int               `form:"grace" json:"grace,omitempty"`
	Fixed      bool              `form:"fixed" json:"fixed,omitempty"`
	FromDay    record.Date       `form:"from_day" json:"from_day,omitzero"`
	Recheck    bool              `form:"recheck" json:"recheck,omitempty"`
	Blocks     bool              `form:"blocks" json:"blocks,omitempty"`
	Who        []record.Role     `form:"who" json:"who"`
	Reading    string            `form:"reading" json:"reading,omitempty"`
	Source     string            `form:"source" json:"source,omitempty"`
	Drop       bool              `form:"drop" json:"drop,omitempty"`
	Reason     string            `form:"reason" json:"reason,omitempty"`
}

func (in *TaskSetIn) task(code string) record.Task {
	return record.Task{Code: code, Name: strings.TrimSpace(in.Name), Days: in.Days, Months: in.Months, UseDays: in.UseDays,
		Grace: in.Grace, Fixed: in.Fixed, From: in.FromDay, Recheck: in.Recheck, Blocks: in.Blocks, Who: in.Who,
		Reading: strings.TrimSpace(in.Reading), Source: strings.TrimSpace(in.Source)}
}

// SetTask records a plan in which one task is another.
func (d *Desk) SetTask(ctx context.Context, who Caller, in TaskSetIn) (Done, error) {
	if _, err := d.may(who, "SetMaintenance"); err != nil {
		return Done{}, err
	}
	code := in.Code
	if code == "new" {
		code = "own-" + d.fresh(&in.From, "task").String()[:8]
	}
	return d.setTasks(ctx, who, in.From, in.SealerType, in.Plan, in.Reason, func(tasks []record.Task) ([]record.Task, error) {
		at := slices.IndexFunc(tasks, func(t record.Task) bool { return t.Code == code })
		switch {
		case in.Drop:
			return slices.DeleteFunc(tasks, func(t record.Task) bool { return t.Code == code }), nil
		case at >= 0:
			tasks[at] = in.task(code)
			return tasks, nil
		}
		return append(tasks, in.task(code)), nil
	})
}

// CommonIn starts a plan of maintenance from what is common in the trade.
type CommonIn struct {
	From
	SealerType record.SealerType `param:"type" json:"-"`
	Plan       record.Seq        `form:"plan" json:"plan"`
}

// StartMaintenance records a plan of the common tasks of a type.
func (d *Desk) StartMaintenance(ctx context.Context, who Caller, in CommonIn) (Done, error) {
	if _, err := d.may(who, "SetMaintenance"); err != nil {
		return Done{}, err
	}
	return d.setTasks(ctx, who, in.From, in.SealerType, in.Plan, "common practice", func([]record.Task) ([]record.Task, error) {
		return rules.CommonTasks(in.SealerType), nil
	})
}

// setTasks changes the plan of a type. Where another one was set since the page
// was drawn, nothing is changed.
func (d *Desk) setTasks(ctx context.Context, who Caller, in From, t record.SealerType, shown record.Seq, reason string,
	change func([]record.Task) ([]record.Task, error)) (Done, error) {
	if !slices.Contains(sealerTypes, t) {
		return Done{}, noSuchType()
	}
	body := &record.MaintenanceSet{SealerType: t, Tasks: []record.Task{}, Reason: reason}
	r, repeated, err := d.ledger.Find(in.ID)
	if err != nil {
		return Done{}, err
	}
	if before, ok := bodyIn(&r).(*record.MaintenanceSet); repeated && ok {
		body = before
	} else {
		dept := d.department(who.Dept)
		now := dept.Upkeep[t]
		if have, set := dept.Upkeep[t]; set && have.Set != shown {
			return Done{}, fault.New(fault.Stale, "Somebody changed this plan meanwhile. Look at it again.")
		}
		tasks, err := change(slices.Clone(now.Tasks))
		if err != nil {
			return Done{}, err
		}
		body.Tasks = append(body.Tasks, tasks...)
	}
	done, err := d.facts(ctx, who, "SetMaintenance", in, record.Subject{Type: record.Department, ID: who.Dept}, body, nil)
	return done, plainTask(err)
}

// bodyIn is what a record says, nil if that cannot be read.
func bodyIn(r *record.Record) record.Body {
	body, err := r.Content()
	if err != nil {
		return nil
	}
	return body
}

// plainTask makes of a fault of "tasks.3.name" one of the form's own field.
func plainTask(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) || !strings.HasPrefix(f.Field, "tasks.") {
		return err
	}
	_, text, _ := strings.Cut(f.Message, ": ")
	if text == "" {
		text = f.Message
	}
	return fault.Field(f.Field[strings.LastIndexByte(f.Field, '.')+1:], "%s", strings.ToUpper(text[:1])+text[1:])
}
