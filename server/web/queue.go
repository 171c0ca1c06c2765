package web

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

type queuePage struct {
	Page
	V        *desk.QueueView
	Rows     []queueRow
	Callouts []Callout
}

// queueRow is a problem in clinical engineering's queue, with its next step.
type queueRow struct {
	hidden
	Title, Href string
	Stage       string // how far it is: the first thing to see
	Tone        string
	Band        *Band
	Facts       []fact
	Photo       *picture
	Again       bool
	Actions     []Action
	Number      int
}

func (h *house) askQueue(c echo.Context) (*desk.QueueView, error) { return h.desk.Queue(caller(c)) }

func (h *house) drawQueue(c echo.Context, v *desk.QueueView) error {
	p := queuePage{Page: h.page(c, &v.Frame, v.EngineeringWord()+"'s queue"), V: v}
	p.Fresh = freshOf(&v.Frame, "/queue/fresh", queueVersion(v))
	if len(v.Mailed) == 0 {
		p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "Nobody is mailed.",
			Text: "No one of " + midSentence(v.EngineeringWord()) + " has a mail address here: call them."})
	}
	for _, l := range v.Lost {
		p.Callouts = append(p.Callouts, Callout{Lead: "Sealer " + l.Sealer.Text + " lost its setting",
			Text: "when the power was off. It was set again and checked " + v.Clock(l.From) + "; nothing is urgent.",
			Href: "/S/" + l.Sealer.Code + "/history", Link: "Records of sealer " + l.Sealer.Text})
	}
	for i := range v.Problems {
		p.Rows = append(p.Rows, queueRowOf(v, &v.Problems[i]))
	}
	return h.render(c, http.StatusOK, "queue", p)
}

func queueRowOf(v *desk.QueueView, q *desk.QueueRow) queueRow {
	f := &v.Frame
	path := problemPath(q.Problem.ID)
	r := queueRow{hidden: formFor(f, desk.From{}, path), Title: "Problem " + itoa(q.Problem.Number),
		Href: path, Stage: stageText(f, q), Number: q.Problem.Number}
	if q.Problem.Seen == "" && q.Problem.Stage == "" {
		r.Tone = "out"
	}
	if q.Sealer != nil {
		r.Title = "Sealer " + q.Facts.Number + " · problem " + itoa(q.Problem.Number)
		r.Band = bandOf(f, q.Sealer.Standing)
		r.Band.Word, r.Band.Note, r.Band.Size = shortWord(r.Band.Word), "", "row"
		r.Band.At = gapAt(q.Problem, q.Facts.WidthCM)
	}
	r.Facts = known([]fact{
		{Term: "What", Text: capital(whatLine(q.Problem))},
		{Term: "Asset tag", Text: q.Facts.Asset},
		{Term: "Where", Text: q.Facts.Place},
		{Term: "Approved setting", Text: listed(settingFact(q.Setting), q.PouchName)},
		{Term: "Work order", Text: q.Order},
		{Term: "Vendor", Text: listed(q.Vendor, with("expected", dateText(q.Expected)))},
		{Term: "Loaner", Text: q.Loaner},
	})
	if !q.Photo.IsZero() {
		r.Photo = &picture{Src: "/photographs/" + q.Photo.String(),
			Alt: "photograph of " + whatLine(q.Problem)}
	}
	r.Actions = queueActions(v, q, path)
	return r
}

// stageText is how far clinical engineering is, and since when.
func stageText(f *desk.Frame, q *desk.QueueRow) string {
	p := q.Problem
	switch p.Stage {
	case rules.StageHandedBack, rules.StageFirstLine:
		return capital(engineeringText(f, p)) + "; return checks next"
	case record.AtWork, record.Vendor:
		return capital(sentences(engineeringText(f, p), with("seen by", p.Seen)))
	}
	return capital(engineeringText(f, p))
}

// queueActions is the next step of a row: of the person who is signed in, or for
// a lead what to enter on behalf of somebody.
func queueActions(v *desk.QueueView, q *desk.QueueRow, path string) []Action {
	back := q.Problem.Stage == rules.StageHandedBack || q.Problem.Stage == rules.StageFirstLine
	switch engineer := v.Person.Has(record.Engineering); {
	case back || !v.Can("Work"):
		return nil
	case !engineer:
		return []Action{{Text: "Enter what they say", Href: path + "/work"}}
	case q.Problem.Stage != "":
		return []Action{{Text: "Hand it back", Tone: "main", Href: path + "/hand-back"}}
	case q.Problem.Seen == "":
		return []Action{{Text: "I have seen it", Tone: "main", To: path + "/seen"}}
	}
	return []Action{{Text: "I am at work on it", Tone: "main", Name: "stage", Value: record.AtWork,
		To: path + "/work"}}
}

// queueVersion changes with everything that the queue shows.
func queueVersion(v *desk.QueueView) string {
	var b strings.Builder
	fmt.Fprint(&b, len(v.Lost), ";")
	for _, q := range v.Problems {
		fmt.Fprint(&b, q.Problem.Number, q.Problem.Stage, q.Problem.Seen, q.Order, q.Expected, q.Photo,
			q.Sealer != nil && q.Sealer.Standing.State == record.CheckDue, ";")
	}
	return b.String()
}

func (h *house) freshQueue(c echo.Context) error {
	v, err := h.askQueue(c)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]string{"version": queueVersion(v), "at": v.Clock(v.Now)})
}
