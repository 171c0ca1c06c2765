package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// maintenancePage is the plan of maintenance of one type of sealer, or what it
// may be started from.
type maintenancePage struct {
	Page
	hidden
	V       *desk.MaintenanceView
	Tasks   []row
	Plan    string
	Own     bool
	CanEdit bool
	Actions []Action
	Summary *Summary
}

func (h *house) askMaintenance(c echo.Context) (*desk.MaintenanceView, error) {
	return h.desk.Maintenance(caller(c), record.SealerType(c.Param("type")))
}

func (h *house) drawMaintenance(c echo.Context, v *desk.MaintenanceView) error {
	return h.maintenancePage(c, http.StatusOK, v, nil)
}

func (h *house) startAgain(c echo.Context, _ desk.CommonIn, err error) error {
	v, viewErr := h.askMaintenance(c)
	if viewErr != nil {
		return err
	}
	return h.maintenancePage(c, status(err), v, err)
}

func (h *house) maintenancePage(c echo.Context, code int, v *desk.MaintenanceView, err error) error {
	p := maintenancePage{Page: h.page(c, &v.Frame, "Maintenance plan"), hidden: formOf(&v.Frame), V: v, Summary: summaryOf(err),
		Plan: seqText(v.Set), Own: v.Set != record.None, CanEdit: v.Can("SetMaintenance")}
	p.Sub, p.Back = typeWords[v.Type], &Link{Href: "/due", Text: "Maintenance due"}
	tasks := v.Tasks
	if !p.Own {
		tasks = v.Common
	}
	for i := range tasks {
		t := &tasks[i]
		r := row{Text: t.Name, Note: sentences(everyText(t), rolesText(t.Who), sourceText(t))}
		if p.Own && p.CanEdit {
			r.Href = "/set-up/maintenance/" + string(v.Type) + "/" + escapeTask(t.Code)
		}
		p.Tasks = append(p.Tasks, r)
	}
	switch {
	case p.CanEdit && !p.Own:
		p.Actions = []Action{{Text: "Start from these", Note: "then change each as your IFU says", Tone: "main", Big: true}}
	case p.CanEdit:
		p.Actions = []Action{{Text: "Add a task of our own", Href: "/set-up/maintenance/" + string(v.Type) + "/new"}}
	}
	return h.render(c, code, "maintenance", p)
}

func afterMaintenance[In any](c echo.Context, _ In, _ desk.Done) string {
	return "/set-up/maintenance/" + c.Param("type") + "?said=saved"
}

// taskSetPage asks for one task of a plan.
type taskSetPage struct {
	Page
	hidden
	To      string
	Plan    string
	In      taskSetTyped
	Who     []choice
	Calib   bool
	New     bool
	Err     map[string]string
	Summary *Summary
	Actions []Action
}

type taskSetTyped struct {
	Name, Days, Months, UseDays, Grace, FromDay, Reading, Source, Reason string
	Fixed, Recheck, Blocks                                               bool
}

func (h *house) taskSetForm(c echo.Context) error {
	v, err := h.askMaintenance(c)
	if err != nil {
		return err
	}
	t := record.Task{Code: "new", Who: []record.Role{record.Lead}}
	if code := c.Param("task"); code != "new" {
		found := false
		for _, have := range v.Tasks {
			if have.Code == code {
				t, found = have, true
			}
		}
		if !found {
			return fault.New(fault.Unknown, "There is no such task in this plan.")
		}
	}
	in := taskSetTyped{Name: t.Name, Days: countOr(t.Days), Months: countOr(t.Months), UseDays: countOr(t.UseDays), Grace: countOr(t.Grace),
		Reading: t.Reading, Source: t.Source, Fixed: t.Fixed, Recheck: t.Recheck, Blocks: t.Blocks}
	if t.From != 0 {
		in.FromDay = t.From.String()
	}
	return h.taskSetPage(c, http.StatusOK, v, desk.From{}, seqText(v.Set), in, t.Who, nil)
}

// countOr is a count as a form shows it: nothing for none.
func countOr(n int) string {
	if n == 0 {
		return ""
	}
	return itoa(n)
}

func (h *house) taskSetAgain(c echo.Context, in desk.TaskSetIn, err error) error {
	v, viewErr := h.askMaintenance(c)
	if viewErr != nil {
		return err
	}
	typed := taskSetTyped{Name: in.Name, Days: c.FormValue("days"), Months: c.FormValue("months"), UseDays: c.FormValue("use_days"),
		Grace: c.FormValue("grace"), FromDay: c.FormValue("from_day"), Reading: in.Reading, Source: in.Source, Reason: in.Reason,
		Fixed: in.Fixed, Recheck: in.Recheck, Blocks: in.Blocks}
	return h.taskSetPage(c, status(err), v, in.From, c.FormValue("plan"), typed, in.Who, err)
}

func (h *house) taskSetPage(c echo.Context, code int, v *desk.MaintenanceView, from desk.From, plan string, in taskSetTyped,
	who []record.Role, err error) error {
	p := taskSetPage{Page: h.page(c, &v.Frame, "A task"), hidden: formFor(&v.Frame, from, ""), In: in, Plan: plan,
		To: "/set-up/maintenance/" + string(v.Type) + "/" + escapeTask(c.Param("task")), New: c.Param("task") == "new",
		Calib: c.Param("task") == record.CalibrationTask, Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = typeWords[v.Type], &Link{Href: "/set-up/maintenance/" + string(v.Type), Text: "Maintenance plan"}
	p.Who = chosen(choices([]record.Role{record.Technician, record.Lead, record.Engineering}, roleWords), texts(who)...)
	p.Actions = []Action{{Text: "Save the task", Tone: "main", Big: true}}
	if !p.New {
		p.Actions = append(p.Actions, Action{Text: "Take it out of the plan", Name: "drop", Value: "true", Skip: true})
	}
	return h.render(c, code, "taskset", p)
}
