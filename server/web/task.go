package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// taskPage asks for everything that can be told of a task, or for the reason why
// it is left out or may wait.
type taskPage struct {
	Page
	hidden
	T       *desk.TaskRow
	In      taskTyped
	To      string
	Kind    string // "done", "skip" or "extend"
	Facts   []fact
	For     string
	Reading string // label of the reading
	Stale   bool
	Err     map[string]string
	Summary *Summary
	Actions []Action
	Others  []Link
}

type taskTyped struct{ Happened, Reading, Part, Report, Note, Reason, Until string }

// taskForm draws a page about one task of a sealer.
func (h *house) taskForm(kind string) echo.HandlerFunc {
	return func(c echo.Context) error { return h.taskPage(c, kind, http.StatusOK, desk.From{}, taskTyped{}, nil) }
}

func (h *house) taskPage(c echo.Context, kind string, code int, from desk.From, in taskTyped, err error) error {
	v, viewErr := h.askDueHere(c)
	if viewErr != nil {
		return viewErr
	}
	t := taskIn(v, c.Param("task"))
	if t == nil {
		return fault.New(fault.Unknown, "There is no such task for this sealer.")
	}
	p := taskPage{Page: h.page(c, &v.Frame, t.Name), hidden: formFor(&v.Frame, from, kind), T: t, In: in, Kind: kind,
		To: taskPath(v.Code, t.Code) + "/" + kind, For: t.Due.String(), Reading: orText(t.Reading, "Reading, if there is one"),
		Err: fieldErrors(err), Summary: summaryOf(err), Stale: fault.Is(err, fault.Stale)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/due", Text: "Due on sealer " + v.Number}
	p.Facts = taskFacts(v, t)
	p.Actions, p.Others = taskActions(v, t, kind)
	return h.render(c, code, "task", p)
}

func taskIn(v *desk.DueHereView, code string) *desk.TaskRow {
	for i := range v.Tasks {
		if v.Tasks[i].Code == code {
			return &v.Tasks[i]
		}
	}
	return nil
}

func taskFacts(v *desk.DueHereView, t *desk.TaskRow) []fact {
	list := []fact{{Term: "When", Text: capital(dueWhen(&v.Frame, &t.DueTask))}, {Term: "Last", Text: capital(lastText(&v.Frame, t))},
		{Term: "How often", Text: everyText(&t.Task)}, {Term: "Who", Text: rolesText(t.Who)}, {Term: "Behind it", Text: sourceText(&t.Task)}}
	if t.Recheck {
		list = append(list, fact{Term: "After it", Text: "A check is due"})
	}
	return list
}

func taskActions(v *desk.DueHereView, t *desk.TaskRow, kind string) (actions []Action, others []Link) {
	path := taskPath(v.Code, t.Code)
	switch kind {
	case "skip":
		return []Action{{Text: "Skip it this time", Tone: "main", Big: true}}, nil
	case "extend":
		return []Action{{Text: "Let it wait", Note: "with your name", Tone: "main", Big: true}}, nil
	}
	if t.Mine {
		actions = []Action{{Text: "Done", Tone: "main", Big: true}}
		if t.Code == record.CalibrationTask && v.Type != record.Impulse {
			others = append(others, Link{Href: "/S/" + v.Code + "/calibrate", Text: "Enter what was measured instead"})
		}
	}
	if !t.Blocks && (t.Mine || v.Can("ExtendTask")) {
		others = append(others, Link{Href: path + "/skip", Text: "Skip it this time"})
	}
	if v.Can("ExtendTask") {
		others = append(others, Link{Href: path + "/extend", Text: "Let it wait"})
	}
	return actions, others
}

// postDone records that a task was done and then its photograph, as a bad seal.
func (h *house) postDone(c echo.Context) error {
	var in desk.TaskIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	done, err := h.desk.DoTask(c.Request().Context(), caller(c), in)
	if err != nil {
		if fault.Is(err, fault.SignIn) {
			return err
		}
		return h.taskPage(c, "done", status(err), in.From, taskTyped{Happened: in.Happened, Reading: in.Reading,
			Part: in.Part, Report: in.Report, Note: in.Note}, err)
	}
	to := afterKeptTask(c, in, done)
	if note := h.photoOf(c, done.ID, done.ID.Derive("photograph"), in.Seen); note != "" {
		to += "&photo=" + note
	}
	return c.Redirect(http.StatusSeeOther, to)
}

func afterKeptTask(_ echo.Context, in desk.TaskIn, _ desk.Done) string {
	return "/S/" + in.Code + "/due?said=task-done"
}

func (h *house) skipAgain(c echo.Context, in desk.SkipIn, err error) error {
	return h.taskPage(c, "skip", status(err), in.From, taskTyped{Reason: in.Reason}, err)
}

func (h *house) extendAgain(c echo.Context, in desk.ExtendIn, err error) error {
	return h.taskPage(c, "extend", status(err), in.From, taskTyped{Reason: in.Reason, Until: c.FormValue("until")}, err)
}

func afterTask[In any](c echo.Context, _ In, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/due?said=saved"
}

// everyText is how often a task is done: "every 14 days or 5 days in use,
// whichever comes first; 2 days of grace".
func everyText(t *record.Task) string {
	var every []string
	if t.Days > 0 {
		every = append(every, countText(t.Days, "day"))
	}
	if t.Months > 0 {
		every = append(every, countText(t.Months, "month"))
	}
	if t.UseDays > 0 {
		every = append(every, countText(t.UseDays, "day")+" in use")
	}
	text := ""
	for i, e := range every {
		if i > 0 {
			text += " or "
		}
		text += e
	}
	if text != "" {
		text = "every " + text
	}
	if len(every) > 1 {
		text += ", whichever comes first"
	}
	fixed := ""
	if t.Fixed {
		fixed = "on fixed days"
		if t.From != 0 {
			fixed += " from " + dateText(t.From)
		}
	}
	grace := ""
	if t.Grace > 0 {
		grace = countText(t.Grace, "day") + " of grace"
	}
	return capital(sentences(text, fixed, grace))
}

func sourceText(t *record.Task) string {
	return orText(t.Source, "Common practice, no source: the IFU of the sealer decides")
}
