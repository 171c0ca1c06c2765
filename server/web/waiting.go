package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// waitingPage lists what phones sent that a lead has to take or leave out.
type waitingPage struct {
	Page
	V       *desk.WaitingView
	Entries []waitingEntry
	Missing []row
}

type waitingEntry struct {
	Report      record.ID
	Title, Text string
	Why         string
}

func (h *house) askWaiting(c echo.Context) (*desk.WaitingView, error) {
	return h.desk.Waiting(caller(c))
}

func (h *house) drawWaiting(c echo.Context, v *desk.WaitingView) error {
	p := waitingPage{Page: h.page(c, &v.Frame, "Sent by phones"), V: v, Missing: missingRows(&v.Frame, v.Missing)}
	for _, e := range v.Entries {
		when := v.Clock(e.Happened)
		if e.Doubtful {
			when = "at a time that is not sure"
		}
		p.Entries = append(p.Entries, waitingEntry{Report: e.Report, Title: h.keptTitle(caller(c), &e.Kept),
			Text: listed(with("says", e.Who), when, "arrived "+v.Clock(e.Arrived)), Why: waitsWords[e.Why]})
	}
	return h.render(c, http.StatusOK, "waiting", p)
}

// waitsWords tell why an entry waits.
var waitsWords = map[string]string{
	desk.WaitsUnconfirmed: "Nobody has confirmed who made it.",
	desk.WaitsDevice:      "The device was shut out before it arrived.",
	desk.WaitsLeft:        "Its person was not with the department any more when it arrived.",
	desk.WaitsForbidden:   "Its person may not do that.",
	desk.WaitsHanded:      "It was given to a lead on the phone.",
}

// keptTitle puts an entry into words.
func (h *house) keptTitle(who desk.Caller, k *desk.Kept) string {
	form, err := url.ParseQuery(k.Form)
	if err != nil {
		return "An entry that cannot be read"
	}
	what, code := keptWords(k.To, form), ""
	if parts := strings.Split(k.To, "/"); len(parts) >= 4 && parts[1] == "S" {
		code = parts[2]
	} else if form.Get("codes") != "" {
		code = form.Get("codes")
	}
	if code == "" {
		return what
	}
	if v, err := h.desk.Sealer(who, code, record.ID{}); err == nil {
		return "Sealer " + v.Number + ": " + strings.ToLower(what[:1]) + what[1:]
	}
	return what + ", label " + code
}

// keptWords names what an entry says.
func keptWords(to string, form url.Values) string {
	switch path := strings.Split(to, "/"); path[len(path)-1] {
	case "checks":
		words := map[string]string{"pass": "Good check", "fail": "Failed check", "not-ready": "Not ready, no check made", "not-valid": "Test not valid"}
		return listed(orElse(words[form.Get("outcome")], "Check"), faultIn(form))
	case "bad-seal":
		return listed("Bad seal", faultIn(form))
	case "changeovers":
		return "Changeover"
	case "disturbances":
		scope := ""
		if form.Get("all") != "" {
			scope = "all sealers"
		} else if form.Get("room") != "" {
			scope = "all sealers of the room"
		}
		return listed(orElse(disturbanceWords[form.Get("what")], "Something was done to it"), scope)
	case "packs":
		return listed("Packs sealed", form.Get("count"))
	case "not-used":
		return "Not used " + form.Get("from")
	case "tag":
		return "Tagged and switched off"
	case "done":
		return "Maintenance done"
	}
	return "An entry"
}

func faultIn(form url.Values) string {
	return listed(strings.ToLower(faultWords[record.Fault(form.Get("kind"))]), placeWords[record.Place(form.Get("place"))])
}

func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

// acceptIn takes an entry that waits.
type acceptIn struct {
	Report record.ID `param:"report" json:"-"`
}

func (h *house) acceptKept(ctx context.Context, who desk.Caller, in acceptIn) (desk.Done, error) {
	return h.desk.AcceptKept(ctx, who, in.Report, func(ctx context.Context, who desk.Caller, k desk.Kept) (desk.Done, error) {
		call, err := h.keptForm(&k)
		if err != nil {
			return desk.Done{}, err
		}
		done, _, err := call.do(ctx, who, call.context(ctx, k))
		return done, err
	})
}

func afterWaiting[In any](said string) func(echo.Context, In, desk.Done) string {
	return func(echo.Context, In, desk.Done) string { return "/waiting?said=" + said }
}

func afterKeptTag(_ echo.Context, _ desk.TagIn, done desk.Done) string {
	return problemPath(done.Problem) + "?said=tagged"
}
