package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// sealerPage is the page that a scan opens.
type sealerPage struct {
	Page
	hidden
	V        *desk.SealerView
	Code     string
	Setting  *settingBlock
	Pick     []pickItem // which pouch is in your hand?
	Summary  *Summary
	Lines    []string // what to do before the tap
	Actions  []Action
	More     []Link
	Callouts []Callout
	DueHere  *dueSealer // maintenance that waits to be done
	Shown    *shownField
	Packs    *quickPacks
	Stale    bool // offer "it did happen: keep it"
	Lost     bool // ask whether the setting was lost with the power
	Outcome  string
	Once     bool // one more check, though it is ready
}

// Callout is something to know: see static/templates/partials/lists.html.
type Callout struct{ Tone, Lead, Text, Href, Link string }

type settingBlock struct{ Kind, Pouch, Lead, Number, Unit, Hold, By, Until, Missing, Who string }

type pickItem struct{ Href, Kind, Pouch, Note string }

type shownField struct{ Label, Unit, Value, Error string }

// askSealer reads the code and the pouch in hand from the address.
func (h *house) askSealer(c echo.Context) (*desk.SealerView, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	pouch, _ := record.ParseID(c.QueryParam("pouch")) // anything else means: not chosen
	return h.desk.Sealer(caller(c), string(code), pouch)
}

func badCode(err error) string {
	return "This is not a code of a label: " + strings.TrimPrefix(err.Error(), "labels: ") +
		". Look at the letters under the square and type them again."
}

func (h *house) drawSealer(c echo.Context, v *desk.SealerView) error {
	return h.sealerAgain(c, v, http.StatusOK, desk.CheckIn{}, nil)
}

// sealerAgain draws the sealer page, after a check that was not taken with what
// was typed.
func (h *house) sealerAgain(c echo.Context, v *desk.SealerView, status int, in desk.CheckIn, err error) error {
	p := sealerPage{Page: h.page(c, &v.Frame, "Sealer "+v.Number), hidden: formOf(&v.Frame), V: v, Code: v.Code,
		Summary: summaryOf(err), Stale: fault.Is(err, fault.Stale) && !in.ID.IsZero(), Outcome: string(in.Outcome)}
	if !in.ID.IsZero() {
		p.hidden = hidden{ID: in.ID, Seen: in.Seen}
	}
	p.Sub = subOf(v.SealerFacts)
	p.Band = bandOf(&v.Frame, v.Standing)
	p.Band.Note = bandNote(v, p.Band.Note)
	if len(v.Pouches) > 1 {
		p.Band.shared(v)
	}
	if v.Problem != nil {
		p.Band.At = gapAt(v.Problem, v.WidthCM)
	}
	p.Head = p.Band.Word + ": "
	p.DueHere = dueHereLine(v)
	p.Fresh = freshOf(&v.Frame, "/S/"+v.Code+"/fresh", sealerVersion(v))
	if p.Kept != nil {
		p.keep(v)
	}
	p.Once = checkingMore(c, v)
	p.fill(v, in, err)
	return h.render(c, status, "sealer", p)
}

// shared names the pouch on a sealer that serves several: Ready is for one.
func (b *Band) shared(v *desk.SealerView) {
	name := pouchOf(v, v.Standing.Pouch)
	switch {
	case v.Standing.State == record.Ready && setForOther(v):
		b.State, b.Word, b.Note = "due", "Set for "+name, "not for "+v.Pouch.Name
	case v.Standing.State == record.Ready:
		b.Word = "Ready for " + name
	case v.Standing.State == record.NotReady && name != "":
		b.Note = "for " + name + ": " + b.Note
	}
}

// setForOther reports whether the sealer is set, or being set, for another pouch
// than the one in hand.
func setForOther(v *desk.SealerView) bool {
	st := v.Standing
	if v.Pouch == nil || st.Pouch.IsZero() || st.Pouch == v.Pouch.ID {
		return false
	}
	return st.State == record.Ready || st.State == record.NotReady || rules.Awaited(st)
}

func pouchOf(v *desk.SealerView, id record.ID) string {
	for _, p := range v.Pouches {
		if p.ID == id {
			return p.Name
		}
	}
	return ""
}

// keep makes the page one that a phone keeps: a Ready is told beside the cautious
// band, what is worse stays as it is.
func (p *sealerPage) keep(v *desk.SealerView) {
	p.Head, p.Fresh, p.Kept.Sealer = "Kept: ", nil, v.Code
	p.Band.Note = listed(p.Band.Note, "as of "+p.Kept.AsOf)
	if p.Band.State == "ready" {
		p.Kept.Known = p.Band
		p.Band = &Band{State: "due", Word: "Was ready at " + p.Kept.AsOf + ", cannot confirm"}
	}
}

// dueHereLine names what is due on the sealer, behind the next right action.
func dueHereLine(v *desk.SealerView) *dueSealer {
	if len(v.Due) == 0 {
		return nil
	}
	first := &v.Due[0]
	out := &dueSealer{Text: "Maintenance due here", Href: "/S/" + v.Code + "/due", Tasks: []dueTask{dueLine(&v.Frame, first)}}
	if more := len(v.Due) - 1; more > 0 {
		out.Tasks = append(out.Tasks, dueTask{Text: "and " + countText(more, "other task")})
	}
	return out
}

// gapAt is where a fault sits, in percent from the left as one stands; 0 if
// nobody knows.
func gapAt(p *desk.ProblemRef, width int) int {
	if cm, err := strconv.ParseFloat(strings.Replace(p.AtCM, ",", ".", 1), 64); err == nil && width > 0 {
		return max(8, min(92, int(100*cm/float64(width))))
	}
	return map[record.Place]int{record.Left: 17, record.Middle: 50, record.Right: 83}[p.Place]
}

func subOf(s record.SealerFacts) string {
	sub := typeWords[s.Type]
	if s.Asset != "" {
		sub += " · asset " + s.Asset
	}
	return sub
}

// bandNote adds who checked, or what stopped it.
func bandNote(v *desk.SealerView, note string) string {
	switch st := v.Standing; {
	case st.State == record.Ready && v.LastGood != nil:
		return "checked " + v.Clock(v.LastGood.At) + ", " + v.LastGood.By + " · next check " + nextCheck(v)
	case v.Problem != nil && st.State != record.Ready:
		return listed(whatLine(v.Problem), v.Clock(v.Problem.At), v.Problem.By) + " · problem " + itoa(v.Problem.Number)
	case st.State == record.CheckDue && v.LastGood != nil:
		return note + " · last good check " + v.Clock(v.LastGood.At)
	}
	return note
}

func nextCheck(v *desk.SealerView) string {
	if v.Standing.Until != 0 {
		return v.Clock(v.Standing.Until)
	}
	return v.NextDay(v.Standing.Day)
}

// fill sets what stands between band and buttons, and the buttons: the next
// right action is the biggest, and nothing else competes with it.
func (p *sealerPage) fill(v *desk.SealerView, in desk.CheckIn, err error) {
	st := v.Standing
	switch st.State {
	case record.OutOfService, record.WithEngineering:
		p.outOfService(v)
		return
	case record.Retired:
		p.notHere(v)
		return
	}
	p.whereabouts(v)
	if v.Watched != nil && v.Can("Judge") { // technicians have nothing to do about it
		p.Callouts = append(p.Callouts, Callout{Lead: "Watched.", Text: capital(watchText(&v.Frame, v.Watched)) + ".",
			Href: problemPath(v.Watched.ID), Link: "Problem " + itoa(v.Watched.Number)})
	}
	if v.Pouch == nil {
		p.pick(v)
		return
	}
	p.Setting = settingOf(v.SealerFacts, v.Pouch, v.Approvers)
	for _, lot := range v.Pouch.Held {
		p.Callouts = append(p.Callouts, Callout{Tone: "out", Lead: "Do not use lot " + lot + ".", Text: "This lot of " + v.Pouch.Name + " is on hold."})
	}
	if v.Pouch.Setting == nil {
		return
	}
	p.checkOrReport(v, in, err)
}

func (p *sealerPage) checkOrReport(v *desk.SealerView, in desk.CheckIn, err error) {
	base := "/S/" + v.Code
	p.Packs = quickPacksOf(v)
	more := []Link{{Href: base + "/more?pouch=" + v.Pouch.ID.String(), Text: "Something else"}}
	p.trainingCallouts(v)
	switch {
	case v.Phone != nil:
		p.offerCheck(v, in, err)
		p.Actions = append(p.Actions, reporting(v, false)...)
		p.More = more
	case p.Once:
		p.offerCheck(v, in, err)
		p.More = more
	case v.Standing.State == record.Ready && v.Pouch.Ready:
		if v.Plan.Closing && mayCheckMore(v) {
			p.Callouts = append(p.Callouts, closing(v))
		}
		p.Lines = []string{"Look at every seal."}
		p.Actions = reporting(v, true)
		p.More = more
	case setForOther(v):
		p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "This sealer is set for " + pouchOf(v, v.Standing.Pouch) + ".",
			Text: "Do not seal " + v.Pouch.Name + " here before it is changed over and checked."})
		if v.Plan.Changeover && mayCheckMore(v) {
			p.Callouts = append(p.Callouts, beforeChange(v))
		}
		if v.Can("Changeover") {
			p.Actions = []Action{{Text: "Change over to " + v.Pouch.Name, Tone: "main", Big: true, Name: "what", Value: "changeover", To: base + "/changeovers"}}
		}
		p.More = more
	case v.Standing.State == record.NotReady:
		p.Lines = []string{"A check is possible from " + v.Clock(v.Standing.Until) + ". A check before that would say nothing."}
		p.Actions = reporting(v, false)
		p.More = more
	case !v.Can("Check"):
		p.Lines = []string{"The check is made by the department's technicians."}
		p.More = more
	case v.Training.Missing:
		p.untrained(v)
		p.More = more
	default:
		p.offerCheck(v, in, err)
		p.More = more
	}
}

// offerCheck tells how to make the check and takes what came of it.
func (p *sealerPage) offerCheck(v *desk.SealerView, in desk.CheckIn, err error) {
	base := "/S/" + v.Code
	p.Lines = checkLines(v)
	p.Callouts = append(p.Callouts, boxCallouts(v.Boxes)...)
	if v.Standing.State == record.NotReady {
		p.Lines = append([]string{"A check is possible from " + v.Clock(v.Standing.Until) + ". A check before that would say nothing."}, p.Lines...)
	}
	if v.Plan.AskShown {
		p.Lost = v.Phone != nil || v.Standing.Why == record.PowerOff
		p.Shown = &shownField{Label: "What does the display show?", Unit: unitWords[v.Pouch.Setting.Unit], Value: in.Shown, Error: fieldError(err, "shown")}
	}
	p.Actions = []Action{
		{Text: "Pass", Note: "all good", Tone: "main", Big: true, Half: true, Name: "outcome", Value: "pass"},
		{Text: "Fail", Tone: "bad", Big: true, Half: true, Href: base + "/fail?pouch=" + v.Pouch.ID.String()},
		{Text: "Not ready, or test not valid", Href: base + "/not-valid?pouch=" + v.Pouch.ID.String()},
	}
}

// reporting is the button for a bad seal, for who may report one.
func reporting(v *desk.SealerView, big bool) []Action {
	if !v.Can("ReportBadSeal") {
		return nil
	}
	return []Action{{Text: "Report a bad seal", Tone: "bad", Big: big, Href: "/S/" + v.Code + "/bad-seal?pouch=" + v.Pouch.ID.String()}}
}

// checkLines tell how to make the check that is due.
func checkLines(v *desk.SealerView) []string {
	var how []string
	for _, t := range v.Plan.Tests {
		how = append(how, testWords[t])
	}
	todo := strings.Join(how, "; ") + "."
	todo = strings.ToUpper(todo[:1]) + todo[1:]
	var where string
	switch v.Standing.Need {
	case record.NeedFresh:
		where = "Seal a fresh test pouch flat: " + itoa(v.Standing.Good+1) + " of " + itoa(v.Standing.Of) + "; both must be good."
	case record.NeedTestSeal:
		where = "Repackage, then seal one test pouch."
	case record.NeedPlaces:
		where = "Seal test pouches left, middle and right."
	case record.NeedReturn:
		where = "Return check " + itoa(v.Standing.Good+1) + " of " + itoa(v.Standing.Of) + ": seal test pouches " + placesLine(v.Plan.Places) + "."
	default:
		where = "Seal a test pouch " + placesLine(v.Plan.Places) + "."
	}
	return []string{where + " " + todo, "The jaw is hot. Mark test pouches TEST and destroy them."}
}

func placesLine(places []record.Place) string {
	var words []string
	for _, p := range places {
		words = append(words, placeWords[p])
	}
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

func (p *sealerPage) pick(v *desk.SealerView) {
	for _, here := range v.Pouches {
		item := pickItem{Href: "/S/" + v.Code + "?pouch=" + here.ID.String(), Kind: kinds[here.Material], Pouch: here.Name}
		switch {
		case here.Setting == nil:
			item.Note = "no approved setting"
		case here.Ready:
			item.Note = "ready"
		}
		p.Pick = append(p.Pick, item)
	}
	p.More = []Link{{Href: "/S/" + v.Code + "/more", Text: "Something else"}}
	if len(p.Pick) == 0 {
		p.Setting = &settingBlock{Kind: "", Pouch: "No pouch yet", Missing: "No approved setting for any pouch on this sealer.", Who: approversLine(v.Approvers)}
		if v.Can("Approve") {
			p.Actions = []Action{{Text: "Approve a setting", Tone: "main", Big: true, Href: "/S/" + v.Code + "/approve"}}
		}
	}
}

func (p *sealerPage) outOfService(v *desk.SealerView) {
	base := "/problems/" + v.Standing.Problem.String()
	p.whereabouts(v)
	if v.Pouch != nil || len(v.Instead) > 0 {
		p.Callouts = append(p.Callouts, instead(v))
	}
	if v.Phone != nil {
		p.Callouts = []Callout{{Tone: "due", Lead: "Use a sealer that is ready.", Text: "Scan its label."}}
		p.More = []Link{{Href: "/S/" + v.Code + "/bad-seal", Text: "Report another bad seal"}}
	}
	hold := Callout{Tone: "out", Lead: "Hold the packs sealed here.", Text: "Look for sealer " + v.Number + " on the pack."}
	if v.Problem != nil && v.Problem.Packs > 0 {
		hold.Lead = "Hold at least " + itoa(v.Problem.Packs) + " packs"
		hold.Text = "sealed here. Look also for sealer " + v.Number + " on the pack."
	}
	p.Callouts = append(p.Callouts, hold)
	if v.Problem == nil {
		return
	}
	p.Callouts = append(p.Callouts, engineeringLine(v))
	if v.Problem.Tagged == 0 && v.Can("Tag") {
		p.Actions = []Action{{Text: "Tagged and switched off", Tone: "main", Big: true, To: base + "/tag"}}
	} else {
		p.Actions = []Action{{Text: "Open problem " + itoa(v.Problem.Number), Tone: "main", Big: true, Href: base}}
	}
	p.Actions = append(p.Actions, Action{Text: "Hold list", Href: base + "/hold"})
	p.More = []Link{{Href: "/S/" + v.Code + "/more", Text: "Something else"}}
}

// instead names a ready sealer, never its setting: that is on its own label.
func instead(v *desk.SealerView) Callout {
	if len(v.Instead) == 0 {
		text := v.Fallback
		if text == "" {
			text = "Ask the lead what to do."
		}
		return Callout{Tone: "due", Lead: "No other sealer is ready.", Text: text, Href: "/", Link: "Which sealer for which pouch"}
	}
	var names []string
	for _, r := range v.Instead {
		names = append(names, r.Text)
	}
	return Callout{Tone: "ready", Lead: "Use sealer " + strings.Join(names, " or ") + " instead.", Text: "Scan its label."}
}

func engineeringLine(v *desk.SealerView) Callout {
	word := v.EngineeringWord()
	switch {
	case v.Problem.Seen != "":
		return Callout{Lead: word + ":", Text: "seen by " + v.Problem.Seen + ", " + v.Clock(v.Problem.SeenAt) + ". Repackage in a new pouch; a second seal mends nothing."}
	}
	return Callout{Lead: word + ":", Text: "sent " + v.Clock(v.Problem.At) + ", not seen yet. Repackage in a new pouch; a second seal mends nothing."}
}

func settingOf(s record.SealerFacts, p *desk.PouchHere, approvers []string) *settingBlock {
	b := &settingBlock{Kind: kinds[p.Material], Pouch: p.Name}
	a := p.Setting
	if a == nil {
		b.Missing, b.Who = missingWords[p.Missing], approversLine(approvers)
		return b
	}
	b.Lead, b.Number, b.Unit = setTo(s.Type, a.Unit), a.Value, unitWords[a.Unit]
	b.Hold = holdLine(a)
	b.By = listed(with("approved by", a.By), a.On.UTC().Format("2 Jan 2006"))
	if a.By == "" {
		b.By = "approved " + b.By
	}
	if a.Provisional != 0 {
		b.Until = "provisional until " + a.Provisional.UTC().Format("2 Jan")
	}
	return b
}

func holdLine(a *desk.Setting) string {
	var parts []string
	if a.Hold != "" {
		parts = append(parts, "Hold "+strings.TrimPrefix(strings.TrimPrefix(a.Hold, "Hold "), "hold "))
	}
	if a.Speed != "" {
		parts = append(parts, "Speed "+a.Speed)
	}
	return strings.Join(parts, " · ")
}

var missingWords = map[string]string{
	"no-approval":         "No approved setting for this pouch yet.",
	"approval-expired":    "The provisional approval has ended.",
	"ifu-revised":         "The IFU was revised. Do not use until the lead decides.",
	"approval-questioned": "Do not use until the lead decides.",
	"calibration-overdue": "Calibration overdue: do not use until calibrated or extended.",
}

func approversLine(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return strings.Join(names, " or ") + " can approve one."
}
