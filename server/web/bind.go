package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"reflect"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// apiRoot is where the JSON interface begins.
const apiRoot = "/api/v1"

// router is echo with a list of what the JSON interface answers: its description
// is made of that list.
type router struct {
	*echo.Echo
	offers []offer
}

// offer is an address of the JSON interface, what it takes and what it gives.
type offer struct {
	method, path string       // the path as echo has it, below /api/v1
	in, out      reflect.Type // in is nil for a question
}

// useCase is a method of the desk.
type useCase[In, Out any] func(context.Context, desk.Caller, In) (Out, error)

// both binds a form and its twin in the JSON interface to one use case. After a
// form the browser is sent to where next says; a form that is not taken is drawn
// again by again, with what was typed. Without again, the fault has a page.
func both[In, Out any](h *house, e *router, form, api string, use useCase[In, Out],
	next func(echo.Context, In, Out) string, again func(echo.Context, In, error) error) {
	e.POST(form, func(c echo.Context) error {
		var in In
		if err := readForm(c, &in); err != nil {
			if again == nil {
				return err
			}
			return again(c, in, asFault(err))
		}
		out, err := use(c.Request().Context(), caller(c), in)
		switch {
		case err == nil:
			return c.Redirect(http.StatusSeeOther, next(c, in, out))
		case again == nil || fault.Is(err, fault.SignIn):
			return err
		}
		return again(c, in, err)
	})
	if api != "" {
		command(e, api, use)
	}
}

// command binds an address of the JSON interface to one use case.
func command[In, Out any](e *router, api string, use useCase[In, Out]) {
	take(e, api, func(c echo.Context, in In) (Out, error) { return use(c.Request().Context(), caller(c), in) })
}

// take binds an address of the JSON interface to what is done with its JSON.
func take[In, Out any](e *router, api string, do func(echo.Context, In) (Out, error)) {
	e.offers = append(e.offers, offer{http.MethodPost, api, reflect.TypeFor[In](), reflect.TypeFor[Out]()})
	e.POST(apiRoot+api, func(c echo.Context) error {
		var in In
		if err := readJSON(c, &in); err != nil {
			return err
		}
		out, err := do(c, in)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, out)
	})
}

// view binds a page and its twin in the JSON interface to one question.
func view[V any](e *router, page, api string, ask func(echo.Context) (V, error), draw func(echo.Context, V) error) {
	e.GET(page, func(c echo.Context) error {
		v, err := ask(c)
		if err != nil {
			return err
		}
		return draw(c, v)
	})
	if api != "" {
		question(e, api, ask)
	}
}

// question binds an address of the JSON interface to a view.
func question[V any](e *router, api string, ask func(echo.Context) (V, error)) {
	e.offers = append(e.offers, offer{http.MethodGet, api, nil, reflect.TypeFor[V]()})
	e.GET(apiRoot+api, func(c echo.Context) error {
		v, err := ask(c)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusOK, v)
	})
}

// readForm reads path parameters and form fields. A form that cannot be read
// still tells whose it is.
func readForm(c echo.Context, in any) error {
	b := &echo.DefaultBinder{}
	if err := b.BindPathParams(c, in); err != nil {
		return err
	}
	return b.BindBody(c, in)
}

// readJSON reads path parameters and a JSON body without unknown fields. The
// content type has to say JSON: a form of another site cannot.
func readJSON(c echo.Context, in any) error {
	kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		return fault.New(fault.Unsupported, "Send JSON, with Content-Type application/json.")
	}
	body, err := objectIn(c.Request().Body)
	if err != nil {
		return err
	}
	d := json.NewDecoder(body)
	d.DisallowUnknownFields()
	if err := d.Decode(in); err != nil {
		return fault.Wrap(err, fault.Invalid, "The JSON could not be read: %s.", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fault.New(fault.Invalid, "Something follows the JSON. Send one object.")
	}
	return (&echo.DefaultBinder{}).BindPathParams(c, in)
}

// objectIn wants an object to begin: null would be read as an empty one.
func objectIn(body io.Reader) (io.Reader, error) {
	first := make([]byte, 1)
	for {
		if _, err := io.ReadFull(body, first); err != nil {
			return nil, fault.Wrap(err, fault.Invalid, "Send one JSON object.")
		}
		switch first[0] {
		case ' ', '\t', '\r', '\n':
		case '{':
			return io.MultiReader(bytes.NewReader(first), body), nil
		default:
			return nil, fault.New(fault.Invalid, "Send one JSON object.")
		}
	}
}
