package web

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type departmentPage struct {
	Page
	hidden
	In        departmentForm
	Engineers []choice
	HasRoute  bool // then that says who is told first
	Err       map[string]string
	Summary   *Summary
}

// departmentForm is what the form shows: the settings, or what was typed.
type departmentForm struct {
	Name, Zone, DayStart, Early, Late string
	Fallback, Engineering, Reason     string
	PackLog, Fahrenheit               bool
	MailTo                            string
}

func (h *house) askDepartment(c echo.Context) (*desk.DepartmentView, error) {
	return h.desk.Department(caller(c))
}

func (h *house) drawDepartment(c echo.Context, v *desk.DepartmentView) error {
	s := v.Settings
	return h.departmentPage(c, http.StatusOK, v, departmentForm{Name: v.Name, Zone: s.Zone,
		DayStart: clockOf(s.DayStart), Early: itoa(s.EarlyMinutes), Late: itoa(s.LateMinutes),
		Fallback: s.Fallback, Engineering: s.Engineering, PackLog: s.PackLog,
		Fahrenheit: s.Fahrenheit, MailTo: s.MailTo.String()}, desk.From{}, nil)
}

// departmentAgain draws the form with what was typed.
func (h *house) departmentAgain(c echo.Context, in desk.DepartmentIn, err error) error {
	v, viewErr := h.desk.Department(caller(c))
	if viewErr != nil {
		return err
	}
	return h.departmentPage(c, status(err), v, departmentForm{Name: in.Name, Zone: in.Zone,
		DayStart: in.DayStart, Early: c.FormValue("early_minutes"),
		Late:     c.FormValue("late_minutes"),
		Fallback: in.Fallback, Engineering: in.Engineering, PackLog: in.PackLog, Reason: in.Reason,
		Fahrenheit: in.Fahrenheit, MailTo: in.MailTo.String()}, in.From, err)
}

func (h *house) departmentPage(c echo.Context, code int, v *desk.DepartmentView, in departmentForm,
	typed desk.From, err error) error {
	p := departmentPage{Page: h.page(c, &v.Frame, "Department"), hidden: formFor(&v.Frame, typed,
		""),
		In: in, Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Back, p.HasRoute = &Link{Href: "/set-up", Text: "Set-up"}, v.Dept.Route != nil
	p.Engineers = []choice{{Value: record.ID{}.String(), Text: "Nobody"}}
	for _, e := range v.Engineers {
		p.Engineers = append(p.Engineers, choice{Value: e.ID.String(), Text: e.Text})
	}
	return h.render(c, code, "department", p)
}

func afterSetUp[In any](echo.Context, In, desk.Done) string { return "/set-up?said=saved" }

// clockOf is a time of day, "05:00", of minutes after midnight.
func clockOf(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }
