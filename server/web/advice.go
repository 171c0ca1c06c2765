package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// advicePage is where a lead weighs what is known and decides.
type advicePage struct {
	Page
	hidden
	V        *desk.AdviceView
	Facts    []fact
	Callouts []Callout
	Plot     *plot
	Table    []string
	Climb    *Callout
	Tried    string // the value that was weighed
	CanTry   bool
	Form     *adviceForm
	Links    []Link
	Err      map[string]string
	Summary  *Summary
}

// adviceForm is the decision itself.
type adviceForm struct {
	In          desk.ApproveFromIn
	Rests       string // on what
	Lead        string // "Set the dial to"
	UnitWord    string
	Provisional string
	Sure        bool
	As          string
}

func (h *house) askAdvice(c echo.Context) (*desk.AdviceView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	pouch, err := record.ParseID(c.Param("pouch"))
	if err != nil {
		return nil, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	ask := desk.AdviceAsk{Code: code, Pouch: pouch, Ladder: record.None, Value: strings.TrimSpace(c.QueryParam("value"))}
	if n, err := strconv.ParseInt(c.QueryParam("ladder"), 10, 64); err == nil && n >= 0 {
		ask.Ladder = record.Seq(n)
	}
	return h.desk.Advice(caller(c), ask)
}

func (h *house) drawAdvice(c echo.Context, v *desk.AdviceView) error {
	return h.advicePage(c, http.StatusOK, v, desk.ApproveFromIn{}, nil)
}

func (h *house) adviceAgain(c echo.Context, in desk.ApproveFromIn, err error) error {
	v, viewErr := h.askAdvice(c)
	if viewErr != nil {
		return err
	}
	return h.advicePage(c, status(err), v, in, err)
}

func (h *house) advicePage(c echo.Context, code int, v *desk.AdviceView, in desk.ApproveFromIn, err error) error {
	p := advicePage{Page: h.page(c, &v.Frame, v.Pouch.Name), hidden: formFor(&v.Frame, in.From, ""), V: v,
		Err: fieldErrors(err), Summary: summaryOf(err), Tried: c.QueryParam("value")}
	base := "/S/" + v.Code
	p.Sub, p.Back = "on sealer "+v.Number, &Link{Href: base + "/settings", Text: "What the settings rest on"}
	p.Facts = adviceFacts(v)
	p.Callouts = adviceCallouts(v)
	if v.Table != nil {
		p.Plot, p.CanTry = curvePlot(v.Table), len(v.Table.Places) > 0 && v.Pouch.Window != ""
		p.Table = []string{tableOrigin(v.Table)}
	}
	if v.Ladder != nil {
		p.Climb = &Callout{Lead: "Ladder trial.", Text: climbSentence(v.Ladder),
			Href: base + "/ladders/" + seqText(v.Ladder.Line.Seq), Link: "The trial"}
	}
	if v.Can("ApproveFrom") {
		p.Form = decision(v, in, c.QueryParam("ladder") != "")
		if p.Form != nil {
			p.Form.Provisional, p.Form.Sure = c.FormValue("provisional"), in.Sure || p.Err["sure"] != ""
		}
		p.Links = []Link{{Href: base + "/approve?pouch=" + v.Pouch.ID.String(), Text: "Approve from the IFU instead"}}
	}
	return h.render(c, code, "advice", p)
}

func adviceFacts(v *desk.AdviceView) []fact {
	facts := []fact{{Term: "Approved", Text: approvedText(&v.Pouch)}}
	window := fact{Term: "Window", Text: listed(v.Pouch.Window, documentText(v.Pouch.IFU))}
	if v.Pouch.Window == "" {
		window = fact{Term: "Window", Text: "add it from the pouch's IFU", Href: "/pouches/" + v.Pouch.ID.String() + "/revise"}
	}
	return append(facts, window)
}

// adviceCallouts say what is known, what is proposed, and what else could seal
// the pouch.
func adviceCallouts(v *desk.AdviceView) []Callout {
	var list []Callout
	if v.Doubt != nil {
		b, _ := v.Doubt.Body.(*record.ApprovalQuestioned)
		list = append(list, Callout{Tone: "out", Lead: "Do not use until the lead decides.",
			Text: "Since " + v.Clock(v.Doubt.At) + " it is " + doubtWords[b.Why] + ": " + b.Face + " at the face."})
	}
	for _, k := range evidenceCallouts(&v.Pouch) {
		if v.Doubt == nil || k.Tone != "out" || k.Text != "" {
			list = append(list, k)
		}
	}
	if p := v.Pouch.Proposed; p != nil {
		list = append(list, Callout{Lead: "With a guard band of ± U", Text: guardSentence(&p.AtFace)})
		if p.Verdict != sealing.Proposed && len(v.Others) > 0 {
			list = append(list, Callout{Lead: "Approved for this pouch, too:", Text: "sealer " + refs(v.Others) + "."})
		}
	}
	if v.No != "" {
		list = append(list, Callout{Tone: "due", Text: v.No})
	}
	if v.Tried != nil {
		list = append(list, Callout{Tone: effectTones[v.Tried.Effect], Lead: effectWords[v.Tried.Effect], Text: faceSentence(v.Tried)})
	}
	return list
}

// guardSentence is advice: the probability alone decides (JCGM 106:2012, 8.3.2).
func guardSentence(a *desk.AtFace) string {
	switch {
	case a.NoRoom:
		return "no position could be accepted: the window is narrower than what is known."
	case a.Guarded == sealing.Inside:
		return a.Position + " is inside as well."
	case a.Guarded == sealing.Outside:
		return a.Position + " is outside."
	}
	return a.Position + " can neither be accepted nor refused. This is advice: the probability decides."
}

// decision is the form of a decision on the newest table, or on a ladder trial
// where there is no table or that trial was asked for; nil without either.
func decision(v *desk.AdviceView, in desk.ApproveFromIn, onLadder bool) *adviceForm {
	f := &adviceForm{In: in, As: "as " + v.Who + ", " + dateText(v.Day)}
	switch {
	case v.Ladder != nil && (onLadder || v.Pouch.Proposed == nil):
		f.In.Evidence, f.Rests = v.Ladder.Line.Seq, "the ladder trial"
		f.suggest(v.Ladder.Value, v.Ladder.Unit)
	case v.Pouch.Proposed != nil:
		f.In.Evidence, f.Rests = v.Table.Line.Seq, "the temperature table"
		switch p := v.Pouch.Proposed; {
		case v.Tried != nil:
			f.suggest(v.Tried.Value, string(v.Tried.Unit))
		case p.Verdict == sealing.Proposed:
			f.suggest(p.Value, string(p.Unit))
		default: // what does not seal this pouch well enough is not put into anybody's mouth
			f.suggest("", string(p.Unit))
		}
	default:
		return nil
	}
	if s := v.Pouch.Setting; s != nil && in.ID.IsZero() {
		f.In.Hold, f.In.Speed = s.Hold, s.Speed
	}
	if f.In.Unit == "" && v.Table != nil {
		f.In.Unit = string(v.Table.Control)
	}
	f.Lead, f.UnitWord = setTo(v.Type, f.In.Unit), unitWords[f.In.Unit]
	return f
}

func (f *adviceForm) suggest(value, unit string) {
	if f.In.ID.IsZero() {
		f.In.Value, f.In.Unit = asOnDial(value, unit), unit
	}
}

// asOnDial writes half a mark as a dial shows it: "7 1/2".
func asOnDial(value, unit string) string {
	if whole, half := strings.CutSuffix(value, ".5"); half && unit == string(sealing.Mark) {
		return whole + " 1/2"
	}
	return value
}

func afterAdvice(c echo.Context, _ desk.ApproveFromIn, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/approvals?said=approved"
}
