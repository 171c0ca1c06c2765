package web

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"reflect"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// keepable is a form that a phone may keep and send later. gives tells whether
// what it says is a good word, to be believed only of somebody known.
type keepable struct {
	pattern string
	gives   func(url.Values) bool
	do      func(context.Context, desk.Caller, echo.Context) (desk.Done, string, error)
}

// keep lets phones keep a form, and send it to POST /queue instead of its own
// address. next is the page that follows, for an entry sent while its page is open.
func keep[In any](h *house, form string, use useCase[In, desk.Done], gives func(url.Values) bool,
	next func(echo.Context, In, desk.Done) string) {
	h.keeps = append(h.keeps, keepable{form, gives,
		func(ctx context.Context, who desk.Caller, c echo.Context) (desk.Done, string, error) {
			var in In
			if err := readForm(c, &in); err != nil {
				return desk.Done{}, "", err
			}
			done, err := use(ctx, who, in)
			return done, next(c, in, done), err
		}})
}

func giving(url.Values) bool { return true }
func taking(url.Values) bool { return false }

// goodCheck: every outcome but a fail keeps a sealer in use, or may.
func goodCheck(f url.Values) bool { return f.Get("outcome") == string(record.Pass) }

// keptDone is the receipt of an entry, and the page that follows it.
type keptDone struct {
	desk.Done
	Next string `json:"next,omitempty"`
}

// takeKept takes an entry of a phone's queue.
func (h *house) takeKept(c echo.Context, k desk.Kept) (keptDone, error) {
	form, err := h.keptForm(&k)
	if err != nil {
		return keptDone{}, err
	}
	var next string
	done, err := h.desk.TakeKept(c.Request().Context(), caller(c), h.deviceToken(c), k,
		func(ctx context.Context, who desk.Caller) (done desk.Done, err error) {
			done, next, err = form.do(ctx, who, form.context(ctx, k))
			return done, err
		})
	return keptDone{done, next}, err
}

// keptCall is an entry of a queue and the form that it was made with.
type keptCall struct {
	keepable
	names, values []string // of the path
	form          url.Values
}

// keptForm finds the form of an entry, and reads its fields.
func (h *house) keptForm(k *desk.Kept) (keptCall, error) {
	unknown := fault.New(fault.Invalid, "This entry cannot be read here. Copy it as text and show it to a lead.")
	form, err := url.ParseQuery(k.Form)
	if err != nil {
		return keptCall{}, fault.Wrap(err, unknown.Code, "%s", unknown.Message)
	}
	for _, able := range h.keeps {
		if names, values, ok := matchPath(able.pattern, k.To); ok {
			k.Gives = able.gives(form)
			return keptCall{able, names, values, form}, nil
		}
	}
	return keptCall{}, unknown
}

// aside makes contexts of requests that never came over the wire.
var aside = echo.New()

// context is a request that says what the form says. What stands beside the form
// counts before fields of the same name.
func (call keptCall) context(ctx context.Context, k desk.Kept) echo.Context {
	form := url.Values{}
	for name, values := range call.form {
		form[name] = values
	}
	form.Set("id", k.ID.String())
	form.Set("dev", k.Dev.String())
	form.Set("dev_n", itoa(int(k.DevN)))
	form.Set("made", k.Made.String())
	form.Set("sent", k.Sent.String())
	body := form.Encode()
	r := &http.Request{Method: http.MethodPost, URL: &url.URL{Path: k.To}, ContentLength: int64(len(body)),
		Header: http.Header{"Content-Type": {echo.MIMEApplicationForm}}, Body: io.NopCloser(strings.NewReader(body))}
	c := aside.NewContext(r.WithContext(ctx), nil)
	c.SetParamNames(call.names...)
	c.SetParamValues(call.values...)
	return c
}

// matchPath holds a path against a pattern such as /S/:code/checks.
func matchPath(pattern, path string) (names, values []string, ok bool) {
	want, have := strings.Split(pattern, "/"), strings.Split(path, "/")
	if len(want) != len(have) {
		return nil, nil, false
	}
	for i, part := range want {
		name, variable := strings.CutPrefix(part, ":")
		switch {
		case variable:
			names, values = append(names, name), append(values, have[i])
		case part != have[i]:
			return nil, nil, false
		}
	}
	return names, values, true
}

// keptPhotoIn is a photograph of a phone's queue, as a form: the entry as JSON,
// the id of its report, the file.
type keptPhotoIn struct {
	Entry string    `form:"entry" json:"entry"`
	Of    record.ID `form:"of" json:"of"`
}

// keptPhotographs binds the address that photographs of a queue are sent to.
func (h *house) keptPhotographs(e *router, api string) {
	e.offers = append(e.offers, offer{http.MethodPost, api, reflect.TypeFor[keptPhotoIn](), reflect.TypeFor[desk.PhotoDone]()})
	e.POST(apiRoot+api, func(c echo.Context) error {
		var in keptPhotoIn
		var k desk.Kept
		if err := readForm(c, &in); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(in.Entry), &k); err != nil {
			return fault.Wrap(err, fault.Invalid, "This photograph cannot be read here.")
		}
		b, err := photoBytes(c)
		if err != nil {
			return err
		}
		out, err := h.desk.TakeKeptPhoto(c.Request().Context(), caller(c), h.deviceToken(c), k, desk.PhotoIn{Of: in.Of, Bytes: b})
		if err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, out)
	})
}

// afterKeptBadSeal is the page that follows a report.
func afterKeptBadSeal(_ echo.Context, in desk.BadSealIn, done desk.Done) string {
	if !done.Problem.IsZero() {
		return problemPath(done.Problem) + "?said=bad-seal"
	}
	return "/S/" + in.Code + "?said=bad-seal"
}
