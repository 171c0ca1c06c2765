package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

type approvePage struct {
	Page
	hidden
	V           *desk.FactsView
	In          desk.ApproveIn
	Pouches     []choice
	Units       []choice
	Lead, Like  string // "Set the dial to", and an example
	Now         string // what is approved so far
	Provisional string
	MoreOpen    bool
	As          string
	Err         map[string]string
	Summary     *Summary
}

// controlUnits are the units in which the control of each type is set, the one
// most seen first.
var controlUnits = map[record.SealerType][]sealing.Unit{
	record.BarDial:    {sealing.Mark},
	record.Impulse:    {sealing.Mark, sealing.Seconds},
	record.BarDisplay: {sealing.Celsius, sealing.Fahrenheit},
	record.Continuous: {sealing.Celsius, sealing.Fahrenheit, sealing.Mark},
}

var controlUnitWords = map[sealing.Unit]string{
	sealing.Mark: "a mark, as on the dial", sealing.Celsius: "°C", sealing.Fahrenheit: "°F",
	sealing.Seconds: "seconds",
}

// approve asks for a setting. What the IFU of the sealer, of the pouch or of the
// same pouch on a sealer of this type says stands there already; the number
// never does.
func (h *house) approve(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	var in desk.ApproveIn
	in.Pouch, _ = record.ParseID(c.QueryParam("pouch")) // anything else means: not chosen
	line := settingOfPouch(v, in.Pouch)
	if line == nil && len(v.Settings) == 1 {
		line = &v.Settings[0]
	}
	in.IFUIn = ifuOf(v.IFU)
	in.Provisional = whileStandingIn(v)
	if line != nil {
		in.Pouch = line.ID
		switch {
		case line.Like != nil:
			in.IFUIn, in.Hold, in.Speed, in.Unit = ifuOf(line.Like.IFU), line.Like.Hold,
				line.Like.Speed, line.Like.Unit
		case in.Title == "":
			in.IFUIn = ifuOf(line.IFU)
		}
	}
	return h.approvePage(c, http.StatusOK, v, in, nil)
}

// loanDays is for how long a setting on a loaner is approved where nobody said when
// the other sealer is back (common practice, no source).
const loanDays = 14

// whileStandingIn is the day until which a setting on a loaner is provisional, as
// the form proposes it: until the other one is expected back. 0 for a sealer of
// the department's own place.
func whileStandingIn(v *desk.FactsView) record.Date {
	switch {
	case v.Where.StandFor == nil:
		return 0
	case v.Where.Until > v.Day:
		return v.Where.Until
	}
	return v.Day + loanDays
}

func (h *house) approveAgain(c echo.Context, in desk.ApproveIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.approvePage(c, status(err), v, in, err)
}

func (h *house) approvePage(c echo.Context, code int, v *desk.FactsView, in desk.ApproveIn,
	err error) error {
	p := approvePage{Page: h.page(c, &v.Frame, "Approve a setting"), hidden: formFor(&v.Frame,
		in.From, ""), V: v, In: in,
		Provisional: c.FormValue("provisional"), Lead: "As the control shows it",
		Like: "for example: 180", Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/approvals", Text: "Sealer " +
		v.Number}
	p.As = "as " + v.Who + ", " + dateText(v.Day)
	if c.Request().Method == http.MethodGet && in.Provisional != 0 {
		p.Provisional = in.Provisional.String()
	}
	p.MoreOpen = p.Provisional != "" || p.Err["provisional"] != ""
	for i := range v.Settings {
		s := &v.Settings[i]
		p.Pouches = append(p.Pouches, choice{s.ID.String(), s.Name, s.ID == in.Pouch})
		if s.ID == in.Pouch && s.Setting != nil {
			p.Now = settingText(s.Setting.Value, s.Setting.Unit)
		}
	}
	units := controlUnits[v.Type]
	if in.Unit == "" {
		p.In.Unit = string(units[0])
		if v.Dept.Fahrenheit && units[0] == sealing.Celsius {
			p.In.Unit = string(sealing.Fahrenheit)
		}
	}
	p.Units = chosen(choices(units, controlUnitWords), p.In.Unit)
	if units[0] == sealing.Mark {
		p.Lead, p.Like = setTo(v.Type, p.In.Unit), "for example: 6 or 7 1/2"
	}
	return h.render(c, code, "approve", p)
}

func settingOfPouch(v *desk.FactsView, pouch record.ID) *desk.PouchSetting {
	for i := range v.Settings {
		if v.Settings[i].ID == pouch {
			return &v.Settings[i]
		}
	}
	return nil
}

func afterApproval(c echo.Context, _ desk.ApproveIn, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/approvals?said=approved"
}
