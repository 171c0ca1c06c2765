package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

type readingForm struct {
	Page
	hidden
	V        *desk.FactsView
	In       desk.ReadingIn
	Scales   []choice
	Stated   []choice
	Places   []choice
	AskShown bool
	Due      string
	Sure     bool
	Err      map[string]string
	Summary  *Summary
}

// newReading asks for one temperature of a series. The approved setting stands
// there already: a series is measured at the same one.
func (h *house) newReading(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	var in desk.ReadingIn
	for _, s := range v.Settings {
		if s.Setting != nil && in.Setting == "" {
			in.Setting = settingText(s.Setting.Value, s.Setting.Unit)
		}
	}
	return h.readingForm(c, http.StatusOK, v, in, nil)
}

func (h *house) readingAgain(c echo.Context, in desk.ReadingIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.readingForm(c, status(err), v, in, err)
}

func (h *house) readingForm(c echo.Context, code int, v *desk.FactsView, in desk.ReadingIn, err error) error {
	if !sealingTable(v) {
		return fault.New(fault.Unknown, "The settings of this kind of sealer mean no degrees.")
	}
	p := readingForm{Page: h.page(c, &v.Frame, "Reading"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Err: fieldErrors(err), Summary: summaryOf(err), Due: c.FormValue("due")}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	p.Sure = in.Sure || p.Err["sure"] != ""
	p.AskShown = v.Type != record.BarDial
	p.Scales = chosen(scales, scaleChosen(&v.Frame, in.Scale))
	p.Stated = chosen(statements, orText(in.Stated, string(sealing.Accuracy)))
	p.Places = chosen(barPlaces, string(in.Place))
	return h.render(c, code, "readingform", p)
}

func afterReading(c echo.Context, _ desk.ReadingIn, done desk.Done) string {
	return "/S/" + c.Param("code") + "/settings?said=" + saidOf(done)
}

var barPlaces = []choice{{Value: "left", Text: "Left"}, {Value: "middle", Text: "Middle"}, {Value: "right", Text: "Right"}}
