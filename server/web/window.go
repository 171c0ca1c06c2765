package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// windowPage widens or narrows a hold window.
type windowPage struct {
	stepPage
	From, Until string // as an input of the type datetime-local has them
	Steps       []choice
}

func (h *house) windowForm(c echo.Context) error {
	v, err := h.askHold(c)
	if err != nil {
		return err
	}
	return h.windowPage(c, v, http.StatusOK, desk.ChangeHoldIn{}, nil)
}

func (h *house) windowAgain(c echo.Context, in desk.ChangeHoldIn, err error) error {
	v, viewErr := h.askHold(c)
	if viewErr != nil {
		return err
	}
	return h.windowPage(c, v, status(err), in, err)
}

func (h *house) windowPage(c echo.Context, v *desk.HoldSheet, code int, in desk.ChangeHoldIn,
	err error) error {
	hold := &v.HoldList
	p := windowPage{stepPage: h.stepPage(c, &v.ProblemView, "Widen or narrow", "/window", err),
		From: formTime(&v.Frame, hold.Counts.From), Until: formTime(&v.Frame, hold.Counts.To)}
	if in.Window == "" && err != nil {
		p.From, p.Until = in.FromTime, in.ToTime
	}
	p.Back = &Link{Href: problemPath(v.Ref.ID) + "/hold", Text: "Hold list"}
	p.Text = "Now: " + windowText(&v.ProblemView, hold.Counts, "good check") + "."
	p.Steps = furtherChoices(v, in.Window)
	p.Reason, p.Must = true, true
	p.Actions = []Action{{Text: "Hold these packs", Tone: "main", Big: true}}
	return h.render(c, code, "window", p)
}

// furtherChoices widen the window by one check; the last one takes what is typed.
func furtherChoices(v *desk.HoldSheet, chosenWindow string) []choice {
	var list []choice
	b := v.HoldList.Counts
	add := func(to bool, from, until record.Time, text string) {
		if to {
			list = append(list, choice{Value: from.String() + "/" + until.String(), Text: text})
		}
	}
	add(v.Earlier != 0, v.Earlier, b.To, "One check earlier: from "+dated(&v.Frame, v.Earlier))
	add(v.Later != 0, b.From, v.Later, "One check later: to "+dated(&v.Frame, v.Later))
	if len(list) == 0 {
		return nil
	}
	return chosen(append(list, choice{Text: "As typed here"}), chosenWindow)
}

// nowIsh is how long ago "now" may be: the window is drawn a moment before the page.
const nowIsh = 5 * time.Second

// formTime writes an instant as an input of the type datetime-local has it.
func formTime(f *desk.Frame, t record.Time) string {
	if t == 0 {
		return ""
	}
	return f.In(t).Format("2006-01-02T15:04")
}

// dated is an instant with its date: what is printed or filed has to say the day.
func dated(f *desk.Frame, t record.Time) string {
	if f.In(t).Year() != f.In(f.Now).Year() {
		return f.In(t).Format("2 Jan 2006 15:04")
	}
	return f.In(t).Format("2 Jan 15:04")
}

func day(f *desk.Frame, t record.Time) string { return f.In(t).Format("2 January") }

// entryTime is when packs of an entry of the log were sealed.
func entryTime(f *desk.Frame, r desk.HoldRow) string {
	from, to := dated(f, r.From), dated(f, r.To)
	switch {
	case from == to:
		return from
	case day(f, r.From) == day(f, r.To):
		return from + " to " + f.In(r.To).Format("15:04")
	}
	return from + " to " + to
}

// windowLines are the window that counts, who set it, further ones, and what to
// look for on packs that nobody logged.
func windowLines(v *desk.ProblemView) (lines []string) {
	hold := &v.HoldList
	if v.Problem.What == rules.WhatUnready {
		return []string{"Sealed " + spanText(&v.Frame, v.Problem.Sealed) +
			" while the sealer was not ready. Nobody is blamed."}
	}
	good := "good check"
	if v.Problem.What == rules.WhatCalibration {
		good = "good calibration"
	}
	lines = append(lines, "Packs sealed on sealer "+hold.Number+" "+
		windowText(v, hold.Counts, good)+".")
	if hold.SetBy != "" {
		lines = append(lines, "Set by "+hold.SetBy+": "+hold.SetWhy)
	}
	if hold.Answered != "" {
		word := "declined"
		if hold.Accepted {
			word = "accepted"
		}
		lines = append(lines, "The wider hold was "+word+" by "+hold.Answered+": "+hold.Why)
	}
	for _, b := range hold.Also {
		lines = append(lines, "Also "+windowText(v, b, "good check")+".")
	}
	if v.Problem.Blame == record.BlameHeat {
		lines = append(lines, "The heat is to blame: "+v.PouchName+" only.")
	} else {
		lines = append(lines, "Every pouch sealed in this time.")
	}
	return append(lines, "Look also for sealer "+hold.Number+", "+daysOf(&v.Frame, hold.Counts)+
		", on every pack.")
}

func daysOf(f *desk.Frame, b rules.Bounds) string {
	from, to := day(f, b.From), day(f, b.To)
	if from == to {
		return from
	}
	return from + " to " + to
}

// windowText is a window in words: "from the last good check 13 Jan 07:05 to the
// first good check after it, 14 Jan 06:08".
func windowText(v *desk.ProblemView, b rules.Bounds, check string) string {
	f := &v.Frame
	text := "from " + dated(f, b.From)
	switch {
	case b.FromCheck != record.None:
		text = "from the last " + check + " " + dated(f, b.From)
	case v.Problem.What == rules.WhatCalibration && !v.HoldList.NoCheck && v.Problem.Hold == nil:
		text = "from the last " + check + " " + dated(f, b.From)
	case b.From <= v.HoldList.Begins:
		text = "from the beginning of our records, " + dated(f, b.From)
	}
	ends := v.Problem.Ends
	switch {
	case b.ToCheck != record.None:
		return text + " to the first " + check + " after it, " + dated(f, b.To)
	case ends != 0 && b.To == ends && v.Problem.Tagged == ends:
		return text + " to " + dated(f, b.To) + ", when the sealer was tagged"
	case ends == 0 && b.To >= f.Now.Add(-nowIsh):
		return text + " until now"
	}
	return text + " to " + dated(f, b.To)
}
