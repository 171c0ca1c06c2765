package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// hooksPage lists webhooks and names new ones.
type hooksPage struct {
	Page
	hidden
	Rows    []hookRow
	In      desk.HookIn
	Err     map[string]string
	Summary *Summary
	Events  []string
}

type hookRow struct {
	hidden
	Hook desk.HookRow
	Path string
	Note string
}

// hookEvents are the types of events, for whoever writes the receiver.
var hookEvents = []string{"sealer.ready", "sealer.check-due", "sealer.not-ready", "sealer.out-of-service",
	"sealer.with-engineering", "sealer.retired", "problem.opened", "problem.call", "problem.seen", "problem.at-work",
	"problem.vendor-called", "problem.handed-back", "problem.first-line-fix", "problem.packs-settled", "problem.closed", "test"}

func (h *house) askHooks(c echo.Context) (*desk.HooksView, error) { return h.desk.Hooks(caller(c)) }

func (h *house) drawHooks(c echo.Context, v *desk.HooksView) error {
	return h.hooksPage(c, http.StatusOK, v, desk.HookIn{}, nil)
}

func (h *house) hooksPage(c echo.Context, code int, v *desk.HooksView, in desk.HookIn, err error) error {
	p := hooksPage{Page: h.page(c, &v.Frame, "Webhooks"), hidden: formFor(&v.Frame, in.From, ""), In: in, Err: fieldErrors(err),
		Summary: summaryOf(err), Events: hookEvents}
	if m, ok := triedMessage(c); ok {
		p.Messages = append(p.Messages, m)
	}
	for _, k := range v.Hooks {
		r := hookRow{Hook: k, hidden: formFor(&v.Frame, desk.From{}, k.ID.String()), Path: "/webhooks/" + k.ID.String()}
		switch {
		case k.Off:
			r.Note = "ended"
		case !k.Secret:
			r.Note = "no secret here: make a new one"
		case k.OnRoute:
			r.Note = "gets every change, and is told on the route"
		default:
			r.Note = "gets every change"
		}
		p.Rows = append(p.Rows, r)
	}
	return h.render(c, code, "hooks", p)
}

func triedMessage(c echo.Context) (Message, bool) {
	switch c.QueryParam("tried") {
	case "taken":
		return Message{"ready", "It took the test event."}, true
	case "not-taken":
		return Message{"out", "It did not take the test event."}, true
	}
	return Message{}, false
}

// hookShownPage shows a secret, once.
type hookShownPage struct {
	Page
	Secret string
	Why    string
}

func (h *house) addHook(c echo.Context) error {
	var in desk.HookIn
	err := readForm(c, &in)
	var done desk.HookDone
	if err == nil {
		done, err = h.desk.AddHook(c.Request().Context(), caller(c), in)
	}
	if err != nil {
		v, viewErr := h.askHooks(c)
		if viewErr != nil || fault.Is(err, fault.SignIn) {
			return err
		}
		return h.hooksPage(c, status(err), v, in, err)
	}
	return h.hookShown(c, done.Secret)
}

func (h *house) renewSecret(c echo.Context) error {
	hook, err := hookID(c)
	if err != nil {
		return err
	}
	done, err := h.desk.RenewSecret(c.Request().Context(), caller(c), desk.TryHookIn{Hook: hook})
	if err != nil {
		return err
	}
	return h.hookShown(c, done.Secret)
}

func (h *house) hookShown(c echo.Context, secret string) error {
	v, err := h.askHooks(c)
	if err != nil {
		return err
	}
	p := hookShownPage{Page: h.page(c, &v.Frame, "Secret of the webhook"), Secret: secret}
	p.Back = &Link{Href: "/webhooks", Text: "Webhooks"}
	return h.render(c, http.StatusOK, "hookshown", p)
}

// tryHook sends a test event and says what came of it.
func (h *house) tryHook(c echo.Context) error {
	hook, err := hookID(c)
	if err != nil {
		return err
	}
	tried, err := h.desk.TryHook(c.Request().Context(), caller(c), desk.TryHookIn{Hook: hook})
	if err != nil {
		return err
	}
	if tried.Taken {
		return c.Redirect(http.StatusSeeOther, "/webhooks?tried=taken")
	}
	v, err := h.askHooks(c)
	if err != nil {
		return err
	}
	p := hookShownPage{Page: h.page(c, &v.Frame, "It did not take the test event"), Why: tried.Why}
	p.Back = &Link{Href: "/webhooks", Text: "Webhooks"}
	return h.render(c, http.StatusOK, "hookshown", p)
}

func hookID(c echo.Context) (record.ID, error) {
	id, err := record.ParseID(c.Param("hook"))
	if err != nil {
		return id, fault.New(fault.Unknown, "There is no such webhook here.")
	}
	return id, nil
}

func afterHook(echo.Context, desk.HookIn, desk.Done) string { return "/webhooks?said=saved" }
