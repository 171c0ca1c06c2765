package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// settingsPage shows a lead what the settings of a sealer rest on.
type settingsPage struct {
	Page
	V           *desk.SettingsView
	Shared      *Callout // what lies between the pouches
	Pouches     []evidenceCard
	Plot        *plot
	Table       []string // what the newest table is and what it says
	Tables      []row
	Ladders     []row
	Series      []seriesBlock
	Validations []row
	Decisions   []event
	May         bool // enter what was measured
}

// evidenceCard is a pouch: what is approved and what is known of it.
type evidenceCard struct {
	Kind, Name, Approved, Window string
	Callouts                     []Callout
	Decide                       string // where a lead does
}

type seriesBlock struct {
	Title, Text string
	Plot        *plot
	Rows        []row
}

func (h *house) askSettings(c echo.Context) (*desk.SettingsView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Settings(caller(c), code)
}

func (h *house) drawSettings(c echo.Context, v *desk.SettingsView) error {
	p := settingsPage{Page: h.page(c, &v.Frame, "What the settings rest on"), V: v, May: v.Can("EnterTable")}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/approvals", Text: "Approved settings"}
	for i := range v.Pouches {
		p.Pouches = append(p.Pouches, evidenceOf(v, &v.Pouches[i]))
	}
	p.Shared = sharedCallout(v.Shared)
	if v.Table != nil {
		p.Plot = curvePlot(v.Table)
		p.Table = append([]string{tableOrigin(v.Table)}, fitSentences(v.Table)...)
	}
	for i := range v.Tables {
		l := &v.Tables[i]
		p.Tables = append(p.Tables, recordRow(&v.Frame, l, "/S/"+v.Code+"/tables/"+seqText(l.Seq)))
	}
	for i := range v.Ladders {
		p.Ladders = append(p.Ladders, climbRow(&v.Frame, v.Code, &v.Ladders[i]))
	}
	for i := range v.Series {
		p.Series = append(p.Series, seriesOf(&v.Frame, &v.Series[i]))
	}
	for i := range v.Validations {
		p.Validations = append(p.Validations, validationRow(&v.Frame, &v.Validations[i]))
	}
	p.Decisions = timeline(&v.Frame, v.Decisions)
	return h.render(c, http.StatusOK, "settings", p)
}

// sharedCallout tells what lies between the pouches of one sealer.
func sharedCallout(s *desk.Shared) *Callout {
	switch {
	case s == nil:
		return nil
	case s.Clash != "":
		return &Callout{Tone: "due", Text: s.Clash + " Between them lies a changeover: set anew, wait until it has settled, test."}
	}
	return &Callout{Text: "One temperature at the face serves all pouches here: " + s.Window + "."}
}

func evidenceOf(v *desk.SettingsView, e *desk.Evidence) evidenceCard {
	card := evidenceCard{Kind: kinds[e.Material], Name: e.Name, Decide: "/S/" + v.Code + "/settings/" + e.ID.String(),
		Window: e.Window, Approved: approvedText(e)}
	if e.Window != "" {
		card.Window = listed(e.Window, documentText(e.IFU))
	}
	card.Callouts = evidenceCallouts(e)
	return card
}

// approvedText is the approved setting in a line, with who approved it.
func approvedText(e *desk.Evidence) string {
	if e.Setting == nil {
		return "nothing yet"
	}
	return listed(settingText(e.Setting.Value, e.Setting.Unit), midSentence(holdLine(e.Setting)),
		"by "+e.Setting.By, dateText(e.Setting.On), basisWords[e.Setting.Basis])
}

// evidenceCallouts say what is known of an approved setting, and what would suit
// better.
func evidenceCallouts(e *desk.Evidence) (list []Callout) {
	switch {
	case e.Setting == nil || e.Missing == "":
	case e.Missing == rules.WhyQuestioned:
		list = append(list, Callout{Tone: "out", Lead: "Do not use until the lead decides."})
	default:
		list = append(list, Callout{Tone: "out", Lead: missingWords[e.Missing]})
	}
	if e.Approved != nil {
		list = append(list, Callout{Tone: effectTones[e.Approved.Effect], Lead: effectWords[e.Approved.Effect],
			Text: faceSentence(e.Approved)})
	}
	if words := unknownWords[e.Unknown]; words != "" && (e.Setting != nil || e.Unknown != "not-measured") {
		list = append(list, Callout{Tone: "due", Text: words})
	}
	if p := e.Proposed; p != nil && (e.Approved == nil || e.Approved.Position != p.Position) {
		list = append(list, Callout{Lead: verdictWords[p.Verdict], Text: p.Sentence})
	}
	return list
}

// faceSentence tells what the face is at a position and how sure that is.
func faceSentence(a *desk.AtFace) string {
	text := "At " + a.Position + " the face is at " + a.Face + " ± " + a.Expanded
	if a.Place != sealing.WholeBar {
		text += " (" + string(a.Place) + ")"
	}
	text += ": inside the window with a probability of " + a.Probability + "."
	if a.Hotter != "" {
		text += " " + offsetSentence(a.Hotter)
	}
	return text
}

// offsetSentence tells by how much a display lies, if it does.
func offsetSentence(hotter string) string {
	if strings.HasPrefix(hotter[1:], "0.0") {
		return "The display is right."
	}
	if hotter[0] == '-' {
		return "The face is " + hotter[1:] + " cooler than the display says."
	}
	return "The face is " + hotter[1:] + " hotter than the display says."
}

var effectWords = map[sealing.Effect]string{
	sealing.WindowKept: "Inside its window.", sealing.WindowMissed: "Outside its window.",
	sealing.Unclear: "Not known well enough.",
}

var effectTones = map[sealing.Effect]string{
	sealing.WindowKept: "ready", sealing.WindowMissed: "out", sealing.Unclear: "due",
}

var verdictWords = map[sealing.Verdict]string{
	sealing.Proposed: "The table proposes:", sealing.NotKnown: "Nearest by the table:",
	sealing.OutOfReach: "Cannot be met here.",
}

var unknownWords = map[string]string{
	"no-window":    "No sealing window is on record for this pouch. Add it from its IFU.",
	"not-measured": "The table does not reach the approved setting.",
	"no-position":  "No position of the control lies within what was measured.",
}
