package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// statusOf is the one table from fault to HTTP.
var statusOf = map[fault.Code]int{
	fault.Invalid:      http.StatusUnprocessableEntity,
	fault.Unknown:      http.StatusNotFound,
	fault.SignIn:       http.StatusUnauthorized,
	fault.Forbidden:    http.StatusForbidden,
	fault.Stale:        http.StatusConflict,
	fault.Conflict:     http.StatusConflict,
	fault.Gone:         http.StatusGone,
	fault.TooLarge:     http.StatusRequestEntityTooLarge,
	fault.Unsupported:  http.StatusUnsupportedMediaType,
	fault.TooMany:      http.StatusTooManyRequests,
	fault.Misdirected:  http.StatusMisdirectedRequest,
	fault.Busy:         http.StatusServiceUnavailable,
	fault.NotConfirmed: http.StatusServiceUnavailable,
	fault.Full:         http.StatusInsufficientStorage,
	fault.Internal:     http.StatusInternalServerError,
}

// titles head the page of an error.
var titles = map[fault.Code]string{
	fault.Invalid:      "Not taken yet",
	fault.Unknown:      "Not found here",
	fault.SignIn:       "Sign in first",
	fault.Forbidden:    "Not for you to do",
	fault.Stale:        "Something changed meanwhile",
	fault.Conflict:     "Sent before, with other content",
	fault.Gone:         "Not in use any more",
	fault.TooLarge:     "Too large",
	fault.Unsupported:  "Not a kind that is taken",
	fault.TooMany:      "Please wait",
	fault.Misdirected:  "Wrong address",
	fault.Busy:         "Not at this moment",
	fault.NotConfirmed: "Not confirmed",
	fault.Full:         "No room to store",
	fault.Internal:     "Something went wrong",
}

// asFault makes a fault of any error.
func asFault(err error) *fault.Error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return fault.New(fault.TooLarge, "That is more than is taken at once: %d kB.", tooLarge.Limit>>10)
	}
	var f *fault.Error
	if errors.As(err, &f) {
		return f
	}
	var he *echo.HTTPError
	if errors.As(err, &he) {
		switch he.Code {
		case http.StatusNotFound, http.StatusMethodNotAllowed:
			return fault.New(fault.Unknown, "There is no such page.")
		case http.StatusUnsupportedMediaType:
			return fault.New(fault.Unsupported, "Send a form or JSON.")
		case http.StatusBadRequest:
			return fault.Wrap(err, fault.Invalid, "This could not be read. Check what was typed.")
		}
	}
	return fault.Wrap(err, fault.Internal, "Something went wrong on our side. What was stored is safe; try again.")
}

// fail answers an error: a JSON problem (RFC 9457) to programs, a page to people.
func (h *house) fail(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	f := asFault(err)
	status := statusOf[f.Code]
	if status >= 500 {
		h.log.Error("request failed", "id", c.Response().Header().Get(echo.HeaderXRequestID),
			"method", c.Request().Method, "path", c.Path(), "error", err)
	}
	if wait, ok := desk.RetryAfter(err); ok {
		c.Response().Header().Set("Retry-After", strconv.Itoa(int(wait.Seconds())+1))
	}
	if wantsJSON(c.Request()) {
		err = c.Blob(status, problemType, problemJSON(status, f))
	} else if f.Code == fault.SignIn && c.Request().Method == http.MethodGet {
		err = c.Redirect(http.StatusSeeOther, "/sign-in?next="+escape(c.Request().URL.RequestURI()))
	} else {
		err = h.errorPage(c, status, f)
	}
	if err != nil {
		h.log.Error("answer error", "error", err)
	}
}

// crossSite answers a form that another site has sent.
func (h *house) crossSite(w http.ResponseWriter, r *http.Request) {
	f := fault.New(fault.Forbidden, "This form was sent from another site. Open the page here and send it again.")
	w.Header().Set("Content-Security-Policy", policy)
	if wantsJSON(r) {
		w.Header().Set("Content-Type", problemType)
		w.WriteHeader(http.StatusForbidden)
		_, _ = w.Write(problemJSON(http.StatusForbidden, f))
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(http.StatusForbidden)
	_, _ = w.Write([]byte(f.Message + "\n"))
}

// problem is an error as programs get it (RFC 9457), with the fault's code and,
// where a field is to blame, its name.
type problem struct {
	Type   string     `json:"type"`
	Title  string     `json:"title"`
	Status int        `json:"status"`
	Detail string     `json:"detail"`
	Code   fault.Code `json:"code"`
	Field  string     `json:"field,omitempty"`
}

const problemType = "application/problem+json"

func problemJSON(status int, f *fault.Error) []byte {
	b, _ := json.Marshal(problem{"about:blank", http.StatusText(status), status, f.Message, f.Code, f.Field}) // plain values
	return b
}

func wantsJSON(r *http.Request) bool {
	return strings.HasPrefix(r.URL.Path, "/api/") || strings.Contains(r.Header.Get("Accept"), "application/json")
}
