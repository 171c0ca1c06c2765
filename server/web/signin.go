package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type signInPage struct {
	Page
	People   []choice
	Next     string
	Person   string
	PINError string
	Summary  *Summary
}

// signInForm lists the people of the device's department. A device that nobody
// let in sees no names; it is asked for a code.
func (h *house) signInForm(c echo.Context) error {
	return h.signInPage(c, http.StatusOK, desk.SignInIn{}, nil)
}

func (h *house) signInPage(c echo.Context, status int, in desk.SignInIn, err error) error {
	names, place, known := h.desk.Colleagues(device(c))
	if !known {
		return c.Redirect(http.StatusSeeOther, "/device?next="+escape(localPath(c.QueryParam("next"))))
	}
	p := signInPage{Page: h.page(c, nil, "Who is here?"), Next: localPath(c.FormValue("next")), Person: in.Person.String(),
		PINError: fieldError(err, "pin"), Summary: summaryOf(err)}
	p.Place = place
	for _, n := range names {
		p.People = append(p.People, choice{Value: n.ID.String(), Text: n.Text, Checked: n.ID == in.Person})
	}
	return h.render(c, status, "signin", p)
}

func (h *house) signIn(c echo.Context) error {
	var in desk.SignInIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	s, err := h.desk.SignIn(c.Request().Context(), device(c), in)
	if err != nil {
		return h.signInPage(c, statusOf[fault.CodeOf(err)], in, err)
	}
	h.setCookie(c, sessionCookie, s.Token, desk.Shift)
	if s.MustChoose {
		return c.Redirect(http.StatusSeeOther, "/pin?next="+escape(localPath(c.FormValue("next"))))
	}
	return c.Redirect(http.StatusSeeOther, localPath(c.FormValue("next")))
}

func (h *house) signOut(c echo.Context) error {
	if err := h.desk.SignOut(c.Request().Context(), caller(c)); err != nil {
		return err
	}
	h.setCookie(c, sessionCookie, "", 0)
	return c.Redirect(http.StatusSeeOther, "/sign-in?said=signed-out")
}

type pinPage struct {
	Page
	Next     string
	PINError string
	Summary  *Summary
}

func (h *house) pinForm(c echo.Context) error { return h.pinPage(c, http.StatusOK, nil) }

func (h *house) pinPage(c echo.Context, status int, err error) error {
	p := pinPage{Page: h.page(c, nil, "Choose your PIN"), Next: localPath(c.FormValue("next")),
		PINError: fieldError(err, "pin"), Summary: summaryOf(err)}
	return h.render(c, status, "pin", p)
}

func (h *house) choosePIN(c echo.Context) error {
	var in desk.NewPINIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	if _, err := h.desk.ChoosePIN(c.Request().Context(), caller(c), in); err != nil {
		if fault.Is(err, fault.SignIn) {
			return err
		}
		return h.pinPage(c, statusOf[fault.CodeOf(err)], err)
	}
	return c.Redirect(http.StatusSeeOther, localPath(c.FormValue("next")))
}

type devicePage struct {
	Page
	Next      string
	Code      string
	CodeError string
	Summary   *Summary
}

// deviceForm lets a new phone, tablet or computer in with a code that a lead
// made.
func (h *house) deviceForm(c echo.Context) error { return h.devicePage(c, http.StatusOK, nil) }

func (h *house) devicePage(c echo.Context, status int, err error) error {
	p := devicePage{Page: h.page(c, nil, "Let this device in"), Next: localPath(c.FormValue("next")), Code: c.FormValue("code"),
		CodeError: fieldError(err, "code"), Summary: summaryOf(err)}
	return h.render(c, status, "device", p)
}

func (h *house) enrol(c echo.Context) error {
	var in desk.EnrolIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	token, err := h.desk.Enrol(c.Request().Context(), in)
	if err != nil {
		return h.devicePage(c, statusOf[fault.CodeOf(err)], err)
	}
	h.setCookie(c, deviceCookie, token, deviceLife)
	return c.Redirect(http.StatusSeeOther, "/sign-in?next="+escape(localPath(c.FormValue("next"))))
}

type beginPage struct {
	Page
	ID      record.ID
	In      desk.FirstIn
	Token   string
	Err     map[string]string
	Summary *Summary
}

// beginForm is the very first page: it needs the one-time set-up link.
func (h *house) beginForm(c echo.Context) error {
	if err := h.desk.CheckSetUp(c.QueryParam("token")); err != nil {
		return err
	}
	return h.beginPage(c, http.StatusOK, desk.FirstIn{Token: c.QueryParam("token")}, nil)
}

func (h *house) beginPage(c echo.Context, status int, in desk.FirstIn, err error) error {
	p := beginPage{Page: h.page(c, nil, "Set up tidemark"), ID: in.ID, In: in, Token: in.Token, Err: map[string]string{}, Summary: summaryOf(err)}
	if p.ID.IsZero() {
		p.ID = h.desk.NewID()
	}
	for _, field := range []string{"name", "zone", "day_start", "person", "pin"} {
		p.Err[field] = fieldError(err, field)
	}
	return h.render(c, status, "begin", p)
}

func (h *house) begin(c echo.Context) error {
	var in desk.FirstIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	first, err := h.desk.Begin(c.Request().Context(), in)
	if err != nil {
		return h.beginPage(c, statusOf[fault.CodeOf(err)], in, err)
	}
	h.setCookie(c, deviceCookie, first.Device, deviceLife)
	h.setCookie(c, sessionCookie, first.Session.Token, desk.Shift)
	return c.Redirect(http.StatusSeeOther, "/set-up")
}
