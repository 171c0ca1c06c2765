package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

type ladderPage struct {
	Page
	V        *desk.LadderView
	Sentence string
	Steps    table
	Facts    []fact
	Decide   string
}

func (h *house) askLadder(c echo.Context) (*desk.LadderView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	seq, err := seqOf(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Ladder(caller(c), code, seq)
}

// drawLadder draws a ladder trial as it went and what it shows.
func (h *house) drawLadder(c echo.Context, v *desk.LadderView) error {
	b, _ := v.Line.Body.(*record.LadderTrial)
	p := ladderPage{Page: h.page(c, &v.Frame, "Ladder trial"), V: v, Sentence: climbSentence(&v.Climb), Steps: stepsTable(b)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	for _, f := range []fact{{Term: "Pouch", Text: v.Line.Pouch}, {Term: "Lot", Text: b.Lot}, {Term: "Hold down", Text: b.Hold},
		{Term: "Speed", Text: b.Speed}, {Term: "Dye", Text: b.Kit}, {Term: "Done", Text: when(&v.Frame, &v.Line)},
		{Term: "By", Text: whoSaid(&v.Line)}, {Term: "Note", Text: v.Line.Note}} {
		if f.Text != "" {
			p.Facts = append(p.Facts, f)
		}
	}
	p.Decide = "/S/" + v.Code + "/settings/" + b.Pouch.String() + "?ladder=" + seqText(v.Line.Seq)
	return h.render(c, http.StatusOK, "ladder", p)
}

func stepsTable(b *record.LadderTrial) table {
	list := table{Caption: "Seal by seal", Head: []head{{Text: "Setting"}, {Text: "Look"}, {Text: "Dye"}, {Text: "Peel"}}}
	for _, s := range b.Steps {
		list.Rows = append(list.Rows, []cell{{Text: quantityText(s.Setting)}, toned(string(s.Look)),
			toned(string(s.Dye)), toned(string(s.Peel))})
	}
	return list
}

// toned is the result of a test of one seal.
func toned(result string) cell {
	switch result {
	case "":
		return cell{Text: "not tested", Tone: "soft"}
	case "pass", "even":
		return cell{Text: result, Tone: "ready"}
	}
	return cell{Text: result, Tone: "out"}
}

// sheetPage is an empty ladder trial to fill in by hand.
type sheetPage struct {
	Page
	V     *desk.FactsView
	Steps []string
	Pouch string
	In    sheetIn
	Error string
}

// sheetIn asks for the settings of a sheet.
type sheetIn struct{ First, Last, Step string }

// ladderSheet draws a trial sheet; with first, last and step its settings are
// printed on it.
func (h *house) ladderSheet(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	p := sheetPage{Page: h.page(c, &v.Frame, "Ladder trial sheet"), V: v,
		In: sheetIn{c.QueryParam("first"), c.QueryParam("last"), c.QueryParam("step")}}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	p.Steps = make([]string, 10)
	if p.In != (sheetIn{}) {
		steps, err := p.In.settings()
		if err != nil {
			p.Error = asFault(err).Message
		} else {
			p.Steps = steps
		}
	}
	return h.render(c, http.StatusOK, "laddersheet", p)
}

// mostSteps is how many rows fit on one sheet.
const mostSteps = 20

func (in sheetIn) settings() (list []string, err error) {
	var ends [3]sealing.Decimal
	for i, text := range []string{in.First, in.Last, in.Step} {
		if ends[i], err = sealing.ParseDecimal(strings.TrimSpace(text)); err != nil {
			return nil, err
		}
	}
	steps, err := sealing.Positions(ends[0], ends[1], ends[2])
	if err != nil {
		return nil, err
	}
	if len(steps) > mostSteps {
		return nil, fault.Field("step", "That makes %d steps; %d fit on the sheet.", len(steps), mostSteps)
	}
	for _, d := range steps {
		list = append(list, d.Dial())
	}
	return list, nil
}
