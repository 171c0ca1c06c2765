package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type peoplePage struct {
	Page
	People, Left   []row
	Devices, Ended []row
}

func (h *house) askPeople(c echo.Context) (*desk.PeopleView, error) {
	return h.desk.People(caller(c))
}

func (h *house) drawPeople(c echo.Context, v *desk.PeopleView) error {
	p := peoplePage{Page: h.page(c, &v.Frame, "People and devices")}
	for _, o := range v.People {
		r := row{Text: o.Name, Href: "/people/" + o.ID.String(),
			Note: listed(rolesText(o.Roles), unlessFalse(o.FirstLine,
				"trained for the first-line fix"))}
		if o.Left {
			p.Left = append(p.Left, r)
		} else {
			p.People = append(p.People, r)
		}
	}
	for _, d := range v.Devices {
		r := row{Text: deviceName(d), Note: "since " + v.Clock(record.TimeOf(d.Since))}
		if d.Revoked {
			p.Ended = append(p.Ended, r)
			continue
		}
		r.Href, r.Note = "/devices/"+d.ID.String(), listed(r.Note, unlessFalse(d.Here, "this one"))
		p.Devices = append(p.Devices, r)
	}
	return h.render(c, http.StatusOK, "people", p)
}

func deviceName(d desk.DeviceRow) string {
	if d.Name == "" {
		return "Device without a name"
	}
	return d.Name
}

type personPage struct {
	Page
	hidden
	In      desk.PersonIn
	Action  string
	New     bool
	Roles   []choice
	Err     map[string]string
	Summary *Summary
}

// roles in the order of a form.
var roles = []record.Role{record.Technician, record.Lead, record.Engineering, record.Surveyor,
	record.Administrator}

func (h *house) newPerson(c echo.Context) error {
	in := desk.PersonIn{Roles: []record.Role{record.Technician}}
	return h.newPersonPage(c, http.StatusOK, in, nil)
}

func (h *house) newPersonPage(c echo.Context, code int, in desk.PersonIn, err error) error {
	v, viewErr := h.desk.People(caller(c))
	if viewErr != nil {
		return viewErr
	}
	p := h.personFields(c, &v.Frame, "New person", in, err)
	p.New, p.Action = true, "/people"
	return h.render(c, code, "person", p)
}

func (h *house) personFields(c echo.Context, f *desk.Frame, title string, in desk.PersonIn,
	err error) personPage {
	p := personPage{Page: h.page(c, f, title), hidden: formFor(f, in.From, ""), In: in,
		Roles: chosen(choices(roles, roleWords), texts(in.Roles)...), Err: fieldErrors(err),
		Summary: summaryOf(err)}
	p.Back = &Link{Href: "/people", Text: "People and devices"}
	return p
}

// addPerson answers with the page that tells the first PIN: an address must not
// carry it, so this is the one form that no redirect follows.
func (h *house) addPerson(c echo.Context) error {
	var in desk.PersonIn
	if err := readForm(c, &in); err != nil {
		return h.newPersonPage(c, status(err), in, err)
	}
	done, err := h.desk.AddPerson(c.Request().Context(), caller(c), in)
	if err != nil {
		return h.newPersonPage(c, status(err), in, err)
	}
	return h.pinShown(c, done)
}

// resetPIN tells a new PIN the same way.
func (h *house) resetPIN(c echo.Context) error {
	var in desk.ResetIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	done, err := h.desk.ResetPIN(c.Request().Context(), caller(c), in)
	if err != nil {
		return err
	}
	return h.pinShown(c, done)
}

type pinShownPage struct {
	Page
	Name, PIN string
	Href      string
}

func (h *house) pinShown(c echo.Context, done desk.PersonDone) error {
	v, err := h.desk.Person(caller(c), done.Subject)
	if err != nil {
		return err
	}
	p := pinShownPage{Page: h.page(c, &v.Frame, "First PIN"), Name: v.Person.Name,
		Href: "/people/" + v.Person.ID.String()}
	if len(done.PIN) == 6 {
		p.PIN = done.PIN[:3] + " " + done.PIN[3:]
	}
	p.Back = &Link{Href: "/people", Text: "People and devices"}
	return h.render(c, http.StatusOK, "pinshown", p)
}

func (h *house) askPerson(c echo.Context) (*desk.PersonView, error) {
	id, err := record.ParseID(c.Param("person"))
	if err != nil {
		return nil, fault.New(fault.Unknown, "There is no such person here.")
	}
	return h.desk.Person(caller(c), id)
}

func (h *house) drawPerson(c echo.Context, v *desk.PersonView) error {
	o := v.Person
	return h.changePersonPage(c, http.StatusOK, v, desk.PersonIn{Person: o.ID, Name: o.Name,
		Mail: o.Mail, Roles: o.Roles, FirstLine: o.FirstLine, Left: o.Left}, nil)
}

func (h *house) personAgain(c echo.Context, in desk.PersonIn, err error) error {
	v, viewErr := h.askPerson(c)
	if viewErr != nil {
		return err
	}
	return h.changePersonPage(c, status(err), v, in, err)
}

func (h *house) changePersonPage(c echo.Context, code int, v *desk.PersonView, in desk.PersonIn,
	err error) error {
	p := h.personFields(c, &v.Frame, v.Person.Name, in, err)
	p.Action = "/people/" + v.Person.ID.String()
	return h.render(c, code, "person", p)
}

func afterPerson(echo.Context, desk.PersonIn, desk.Done) string { return "/people?said=saved" }
