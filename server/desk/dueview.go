package desk

import (
	"cmp"
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// DueView is what is due on every sealer of a department, by place: a walk.
type DueView struct {
	Frame
	Places    []DuePlace          `json:"places"`
	Later     int                 `json:"later"`     // tasks that are not due within a week
	Unplanned []record.SealerType `json:"unplanned"` // types of sealers here that have no plan
}

// DuePlace is one place and what is due there.
type DuePlace struct {
	Place   string      `json:"place"`
	Sealers []DueSealer `json:"sealers"`
}

// DueSealer is one sealer and its tasks, the first due first.
type DueSealer struct {
	SealerRow
	Asset string    `json:"asset,omitempty"`
	Tasks []TaskRow `json:"tasks"`
}

// TaskRow is a task of a sealer as a page shows it.
type TaskRow struct {
	rules.DueTask
	LastBy  string `json:"last_by,omitempty"`
	Figures bool   `json:"figures,omitempty"` // the last time is a calibration with its figures
	Mine    bool   `json:"mine"`              // the person who looks may do it
}

// Due draws what is due or comes within a week, by place.
func (d *Desk) Due(who Caller) (*DueView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &DueView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, s := range d.sealersOf(v, view.Dept) {
			here := DueSealer{SealerRow: sealerRow(v, s, rules.Standing(v, s, view.Now)), Asset: s.Asset}
			for _, t := range rules.Due(v, s, view.Day) {
				if t.Standing == rules.DueLater {
					view.Later++
					continue
				}
				here.Tasks = append(here.Tasks, d.taskRow(v, &view.Frame, t))
			}
			view.add(s, here)
		}
	})
	slices.SortStableFunc(view.Places, func(a, b DuePlace) int { return cmp.Compare(a.Place, b.Place) })
	return view, nil
}

// add puts a sealer at its place, if something is due there.
func (view *DueView) add(s *rules.Sealer, here DueSealer) {
	if _, planned := view.Dept.Upkeep[s.Type]; !planned && !slices.Contains(view.Unplanned, s.Type) {
		view.Unplanned = append(view.Unplanned, s.Type)
	}
	if len(here.Tasks) == 0 {
		return
	}
	i := slices.IndexFunc(view.Places, func(p DuePlace) bool { return p.Place == s.Place })
	if i < 0 {
		i, view.Places = len(view.Places), append(view.Places, DuePlace{Place: s.Place})
	}
	view.Places[i].Sealers = append(view.Places[i].Sealers, here)
}

func (d *Desk) taskRow(v record.View, f *Frame, t rules.DueTask) TaskRow {
	row := TaskRow{DueTask: t, Mine: f.Person != nil && f.Person.Has(t.Who...)}
	if t.Last != nil {
		row.LastBy = d.name(v, t.Last.By)
	}
	return row
}

// DueHereView is every task of one sealer.
type DueHereView struct {
	Frame
	record.SealerFacts
	Code     string           `json:"code"`
	Standing record.Readiness `json:"standing"`
	Tasks    []TaskRow        `json:"tasks"`
	Planned  bool             `json:"planned"`
}

// DueHere draws the tasks of the sealer whose label was scanned.
func (d *Desk) DueHere(who Caller, code string) (*DueHereView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &DueHereView{SealerFacts: s.SealerFacts, Code: s.Code}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		view.Frame, view.Standing = d.frame(v, who), rules.Standing(v, s, d.now())
		_, view.Planned = view.Dept.Upkeep[s.Type]
		for _, t := range rules.Due(v, s, view.Day) {
			view.Tasks = append(view.Tasks, d.taskRow(v, &view.Frame, t))
		}
	})
	for i := range view.Tasks {
		if err := d.haveFigures(&view.Tasks[i]); err != nil {
			return nil, err
		}
	}
	return view, nil
}

// haveFigures looks whether the last calibration was told with what was measured.
func (d *Desk) haveFigures(t *TaskRow) error {
	if t.Code != record.CalibrationTask || t.Last == nil || t.Last.Seq < 0 {
		return nil
	}
	r, err := d.ledger.Read(t.Last.Seq)
	_, t.Figures = bodyIn(&r).(*record.Calibrated)
	return err
}

// openTasks are the tasks of a sealer that wait to be done.
func openTasks(v record.View, s *rules.Sealer, day record.Date) []rules.DueTask {
	return slices.DeleteFunc(rules.Due(v, s, day), func(t rules.DueTask) bool { return !t.Open() })
}

// MaintenanceView is the plan of maintenance of one type.
type MaintenanceView struct {
	Frame
	Type   record.SealerType `json:"type"`
	Tasks  []record.Task     `json:"tasks"`
	Set    record.Seq        `json:"set"` // record of the plan, None: no plan yet
	By     string            `json:"by,omitempty"`
	Common []record.Task     `json:"common"` // what a plan may be started from
}

// Maintenance draws the plan of maintenance of a type.
func (d *Desk) Maintenance(who Caller, t record.SealerType) (*MaintenanceView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	if !slices.Contains(sealerTypes, t) {
		return nil, noSuchType()
	}
	view := &MaintenanceView{Type: t, Set: record.None, Common: rules.CommonTasks(t)}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		if m, ok := view.Dept.Upkeep[t]; ok {
			view.Tasks, view.Set, view.By = m.Tasks, m.Set, d.name(v, m.By)
		}
	})
	return view, nil
}
