package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// choice is a chip: see static/templates/partials/form.html.
type choice struct {
	Value, Text string
	Checked     bool
}

// afterCheck sends the browser back to the sealer, saying what was recorded.
func afterCheck(_ echo.Context, in desk.CheckIn, out desk.Done) string {
	to := "/S/" + in.Code + "?said=" + string(in.Outcome)
	if in.Outcome == record.Pass {
		to += "&pouch=" + in.Pouch.String()
	}
	if out.Nothing != "" {
		to += "&nothing=" + out.Nothing
	}
	return to
}

// checkAgain draws the form that a check came from, with what was typed.
func (h *house) checkAgain(c echo.Context, in desk.CheckIn, err error) error {
	v, viewErr := h.desk.Sealer(caller(c), in.Code, in.Pouch)
	if viewErr != nil {
		return err
	}
	status := statusOf[fault.CodeOf(err)]
	switch in.Outcome {
	case record.Fail:
		return h.failPage(c, v, status, in, err)
	case record.NotYet, record.NotValid:
		return h.notValidPage(c, v, status, in, err)
	}
	return h.sealerAgain(c, v, status, in, err)
}

type failPage struct {
	Page
	hidden
	V           *desk.SealerView
	Kinds, More []choice
	Place       string
	AtCM        string
	KindError   string
	Summary     *Summary
	Stale       bool
	Actions     []Action
}

// failPage asks for kind and place of a failed check.
func (h *house) failPage(c echo.Context, v *desk.SealerView, status int, in desk.CheckIn, err error) error {
	p := failPage{Page: h.page(c, &v.Frame, "Failed check"), hidden: formOf(&v.Frame), V: v, Place: string(in.Place), AtCM: in.AtCM,
		KindError: fieldError(err, "kind"), Summary: summaryOf(err), Stale: fault.Is(err, fault.Stale)}
	if !in.ID.IsZero() {
		p.hidden = hidden{ID: in.ID, Seen: in.Seen}
	}
	p.Back = &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	p.Kinds, p.More = faultChoices(in.Kind)
	p.Actions = []Action{{Text: "Take out of service", Tone: "stop", Big: true, Name: "outcome", Value: "fail"}}
	return h.render(c, status, "fail", p)
}

// faultChoices are the chips of seal faults: the six most seen, then the rest.
func faultChoices(chosen record.Fault) (first, more []choice) {
	front := map[record.Fault]bool{record.Channel: true, record.Unsealed: true, record.Weak: true, record.Burn: true,
		record.Crease: true, record.DontKnow: true}
	for _, f := range record.Faults() {
		ch := choice{Value: string(f), Text: faultWords[f], Checked: f == chosen}
		if front[f] {
			first = append(first, ch)
		} else {
			more = append(more, ch)
		}
	}
	return first, more
}

type notValidPage struct {
	Page
	hidden
	V       *desk.SealerView
	Reasons []choice
	Error   string
	Summary *Summary
	Stale   bool
	Actions []Action
}

var notValidReasons = []choice{
	{Value: "crept", Text: "Dye crept into the paper"},
	{Value: "kit-expired", Text: "Test kit expired or dry"},
	{Value: "not-flat", Text: "Pouch was not flat"},
	{Value: "unclear", Text: "Cannot tell"},
}

var notReadyReasons = []choice{
	{Value: "setting", Text: "Setting was not as approved"},
	{Value: "warming", Text: "Still heating or cooling"},
	{Value: "light", Text: "Ready light is off"},
}

// notValidPage asks why a check is not one.
func (h *house) notValidPage(c echo.Context, v *desk.SealerView, status int, in desk.CheckIn, err error) error {
	p := notValidPage{Page: h.page(c, &v.Frame, "No result"), hidden: formOf(&v.Frame), V: v, Error: fieldError(err, "reason"),
		Summary: summaryOf(err), Stale: fault.Is(err, fault.Stale)}
	if !in.ID.IsZero() {
		p.hidden = hidden{ID: in.ID, Seen: in.Seen}
	}
	p.Back = &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	for _, r := range append(append([]choice{}, notReadyReasons...), notValidReasons...) {
		r.Checked = r.Value == in.Reason
		p.Reasons = append(p.Reasons, r)
	}
	p.Actions = []Action{
		{Text: "Sealer is not ready", Note: "no test was made", Tone: "main", Name: "outcome", Value: "not-ready"},
		{Text: "Test is not valid", Note: "two fresh pouches follow", Name: "outcome", Value: "not-valid"},
	}
	return h.render(c, status, "notvalid", p)
}

// sealerForm draws a form that starts from a sealer.
func (h *house) sealerForm(draw func(echo.Context, *desk.SealerView, int, desk.CheckIn, error) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		v, err := h.askSealer(c)
		if err != nil {
			return err
		}
		return draw(c, v, http.StatusOK, desk.CheckIn{}, nil)
	}
}
