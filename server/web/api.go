package web

import (
	"context"
	"net/http"
	"reflect"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// programs binds what only programs ask for: on pages, cookies do it.
func (h *house) programs(e *router) {
	e.GET("/api/openapi.json", h.describeAPI)
	take(e, "/begin", func(c echo.Context, in desk.FirstIn) (desk.First, error) {
		return h.desk.Begin(c.Request().Context(), in)
	})
	take(e, "/devices/let-in", h.letIn)
	question(e, "/people/colleagues", h.colleagues)
	take(e, "/sign-in", func(c echo.Context, in desk.SignInIn) (desk.Signed, error) {
		return h.desk.SignIn(c.Request().Context(), device(c), in)
	})
	take(e, "/sign-out", func(c echo.Context, _ signOutIn) (signedOut, error) {
		err := h.desk.SignOut(c.Request().Context(), caller(c))
		return signedOut{err == nil}, err
	})
	command(e, "/pin", h.desk.ChoosePIN)
	upload(e, "/photographs", h.desk.AddPhotograph)
	upload(e, "/seen/:token/photographs", h.photoByLink)
	e.offers = append(e.offers, offer{http.MethodGet, "/photographs/:id", nil, reflect.TypeFor[jpeg]()})
	e.GET(apiRoot+"/photographs/:id", h.photograph)
}

// photoByLink adds a photograph to the problem that a link is for, or to what the
// bearer recorded of it.
func (h *house) photoByLink(ctx context.Context, who desk.Caller, in desk.PhotoIn) (desk.PhotoDone, error) {
	if in.Of.IsZero() {
		in.Of = who.Link
	}
	return h.desk.AddPhotograph(ctx, who, in)
}

type signOutIn struct{}

type signedOut struct {
	SignedOut bool `json:"signed_out"`
}

// letInDone is the token that a device keeps.
type letInDone struct {
	Device string `json:"device"`
}

func (h *house) letIn(c echo.Context, in desk.EnrolIn) (letInDone, error) {
	token, err := h.desk.Enrol(c.Request().Context(), in)
	return letInDone{token}, err
}

// colleagues are the people who can sign in on a device.
type colleagues struct {
	Department string     `json:"department"`
	People     []desk.Ref `json:"people"`
}

func (h *house) colleagues(c echo.Context) (colleagues, error) {
	people, place, known := h.desk.Colleagues(device(c))
	if !known {
		return colleagues{}, fault.New(fault.SignIn, "Nobody let this device in yet. Ask a lead for a code.")
	}
	return colleagues{place, people}, nil
}

// upload binds an address of the JSON interface to a use case that takes a form
// with a photograph in it.
func upload(e *router, api string, use useCase[desk.PhotoIn, desk.PhotoDone]) {
	e.offers = append(e.offers, offer{http.MethodPost, api, reflect.TypeFor[desk.PhotoIn](), reflect.TypeFor[desk.PhotoDone]()})
	e.POST(apiRoot+api, func(c echo.Context) error {
		var in desk.PhotoIn
		err := readForm(c, &in)
		if err != nil {
			return err
		}
		if in.Bytes, err = photoBytes(c); err != nil {
			return err
		}
		out, err := use(c.Request().Context(), caller(c), in)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, out)
	})
}
