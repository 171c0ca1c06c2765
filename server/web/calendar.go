package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// calendarsPage lists the addresses under which calendar programs read what is
// due, and makes new ones.
type calendarsPage struct {
	Page
	hidden
	Rows  []calendarLine
	Roles []choice
	URL   string // of the one just made: told once
	Err   map[string]string
}

type calendarLine struct{ Text, Note, To string }

var calendarWords = map[record.Role]string{record.Technician: "What technicians do", record.Lead: "Everything, for the lead",
	record.Engineering: "What clinical engineering does"}

func (h *house) askCalendars(c echo.Context) (*desk.CalendarsView, error) {
	return h.desk.Calendars(caller(c))
}

func (h *house) drawCalendars(c echo.Context, v *desk.CalendarsView) error {
	return h.calendarsPage(c, http.StatusOK, v, "", nil)
}

func (h *house) calendarsPage(c echo.Context, code int, v *desk.CalendarsView, url string, err error) error {
	p := calendarsPage{Page: h.page(c, &v.Frame, "Calendars"), hidden: formOf(&v.Frame), URL: url,
		Roles: choices(desk.CalendarRoles(), calendarWords), Err: fieldErrors(err)}
	p.Back = &Link{Href: "/due", Text: "What is due"}
	for _, k := range v.Calendars {
		p.Rows = append(p.Rows, calendarLine{Text: calendarWords[k.Role], Note: "made " + v.Clock(k.Made) + by(k.By),
			To: "/calendars/" + k.ID.String() + "/end"})
	}
	return h.render(c, code, "calendars", p)
}

// makeCalendar answers with the page that tells the address: it is a secret, so
// no redirect carries it.
func (h *house) makeCalendar(c echo.Context) error {
	var in desk.MakeCalendarIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	made, err := h.desk.MakeCalendar(c.Request().Context(), caller(c), in)
	v, viewErr := h.askCalendars(c)
	if viewErr != nil {
		return viewErr
	}
	if err != nil {
		return h.calendarsPage(c, status(err), v, "", err)
	}
	return h.calendarsPage(c, http.StatusOK, v, made.URL, nil)
}

func afterCalendar(echo.Context, desk.EndCalendarIn, desk.Done) string {
	return "/calendars?said=saved"
}

// calendar is what a calendar program reads. It has no session: the address is
// the secret.
func (h *house) calendar(c echo.Context) error {
	b, err := h.desk.Calendar(strings.TrimSuffix(c.Param("token"), ".ics"))
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="tidemark.ics"`)
	return c.Blob(http.StatusOK, "text/calendar; charset=utf-8", b)
}
