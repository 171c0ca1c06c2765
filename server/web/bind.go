package web

import (
	"context"
	"encoding/json"
	"mime"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// useCase is a method of the desk.
type useCase[In, Out any] func(context.Context, desk.Caller, In) (Out, error)

// both binds a form and its twin in the JSON interface to one use case. After a
// form the browser is sent to where next says; a form that is not taken is drawn
// again by again, with what was typed. Without again, the fault has a page.
func both[In, Out any](h *house, e *echo.Echo, form, api string, use useCase[In, Out],
	next func(echo.Context, In, Out) string, again func(echo.Context, In, error) error) {
	e.POST(form, func(c echo.Context) error {
		var in In
		if err := readForm(c, &in); err != nil {
			return err
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
		e.POST("/api/v1"+api, answer(use))
	}
}

// answer is the JSON side of a use case.
func answer[In, Out any](use useCase[In, Out]) echo.HandlerFunc {
	return func(c echo.Context) error {
		var in In
		if err := readJSON(c, &in); err != nil {
			return err
		}
		out, err := use(c.Request().Context(), caller(c), in)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, out)
	}
}

// view binds a page and its twin in the JSON interface to one question.
func view[V any](e *echo.Echo, page, api string, ask func(echo.Context) (V, error), draw func(echo.Context, V) error) {
	e.GET(page, func(c echo.Context) error {
		v, err := ask(c)
		if err != nil {
			return err
		}
		return draw(c, v)
	})
	if api != "" {
		e.GET("/api/v1"+api, func(c echo.Context) error {
			v, err := ask(c)
			if err != nil {
				return err
			}
			return c.JSON(http.StatusOK, v)
		})
	}
}

// readForm reads path parameters and form fields.
func readForm(c echo.Context, in any) error {
	b := &echo.DefaultBinder{}
	if err := b.BindBody(c, in); err != nil {
		return err
	}
	return b.BindPathParams(c, in)
}

// readJSON reads path parameters and a JSON body without unknown fields. The
// content type has to say JSON: a form of another site cannot.
func readJSON(c echo.Context, in any) error {
	kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		return fault.New(fault.Unsupported, "Send JSON, with Content-Type application/json.")
	}
	d := json.NewDecoder(c.Request().Body)
	d.DisallowUnknownFields()
	if err := d.Decode(in); err != nil {
		return fault.Wrap(err, fault.Invalid, "The JSON could not be read: %s.", err)
	}
	return (&echo.DefaultBinder{}).BindPathParams(c, in)
}
