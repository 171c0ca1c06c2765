package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// duePage is the walk: what is due, place by place.
type duePage struct {
	Page
	Places    []duePlace
	Later     string
	Unplanned []row
	Empty     bool
}

type duePlace struct {
	Name    string
	Sealers []dueSealer
}

// dueSealer is a sealer and what is due on it: see static/templates/partials/due.html.
type dueSealer struct {
	Text, Href string
	Tasks      []dueTask
}

type dueTask struct {
	Text string
	Over bool
}

func (h *house) askDue(c echo.Context) (*desk.DueView, error) { return h.desk.Due(caller(c)) }

func (h *house) drawDue(c echo.Context, v *desk.DueView) error {
	p := duePage{Page: h.page(c, &v.Frame, "Maintenance due")}
	p.Sub = "by place, for " + dateText(v.Day)
	for _, place := range v.Places {
		at := duePlace{Name: orText(place.Place, "No place written down")}
		for i := range place.Sealers {
			at.Sealers = append(at.Sealers, dueOn(&v.Frame, &place.Sealers[i]))
		}
		p.Places = append(p.Places, at)
	}
	if v.Later > 0 {
		p.Later = countText(v.Later, "more task") + " not due within a week."
	}
	p.Empty = len(p.Places) == 0 && len(v.Unplanned) == 0
	for _, t := range v.Unplanned {
		r := row{Text: "No plan yet: " + typeWords[t], Note: "a lead starts one from what is common in the trade"}
		if v.Can("SetMaintenance") {
			r.Href = "/set-up/maintenance/" + string(t)
		}
		p.Unplanned = append(p.Unplanned, r)
	}
	return h.render(c, http.StatusOK, "due", p)
}

// dueOn is a sealer and its tasks, the first due first.
func dueOn(f *desk.Frame, s *desk.DueSealer) dueSealer {
	out := dueSealer{Text: listed("Sealer "+s.Number, with("asset", s.Asset)), Href: "/S/" + s.Code + "/due"}
	for i := range s.Tasks {
		out.Tasks = append(out.Tasks, dueLine(f, &s.Tasks[i].DueTask))
	}
	return out
}

func dueLine(f *desk.Frame, t *rules.DueTask) dueTask {
	return dueTask{Text: t.Name + ": " + dueWhen(f, t), Over: t.Standing == rules.DueOver}
}

// dueWhen says when a task is due, counted from today where that is near.
func dueWhen(f *desk.Frame, t *rules.DueTask) string {
	switch t.Standing {
	case rules.DueNow:
		text := "due since " + dayText(f, t.Due)
		if t.Due == f.Day {
			text = "due today"
		}
		if t.Through > t.Due {
			text += ", by " + dayText(f, t.Through) + " at the latest"
		}
		return text
	case rules.DueExtended:
		return "was due " + dayText(f, t.Due) + ", a lead lets it wait until " + dayText(f, t.Through)
	case rules.DueOver:
		text := "overdue since " + dayText(f, t.Through+1)
		if t.Stops() {
			text += ": do not use the sealer until it is calibrated or extended"
		}
		return text
	}
	if t.Decides == rules.ByUse {
		return "due about " + dayText(f, t.Due) + ", after " + itoa(t.UseDays-t.Used) + " more days in use"
	}
	return "due " + dayText(f, t.Due)
}

// dayText is a day of this year without the year.
func dayText(f *desk.Frame, d record.Date) string {
	if y, _, _ := d.Civil(); y == f.Day.UTC().Year() {
		return d.UTC().Format("2 Jan")
	}
	return dateText(d)
}

// dueHerePage is what is due on the sealer whose label was scanned.
type dueHerePage struct {
	Page
	V     *desk.DueHereView
	Open  []taskCard
	Later []row
	None  bool
}

// taskCard is a task that can be told as done with one tap.
type taskCard struct {
	hidden
	Name, When, Last, Who string
	To, For               string
	Over                  bool
	Actions               []Action
}

func (h *house) askDueHere(c echo.Context) (*desk.DueHereView, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	return h.desk.DueHere(caller(c), string(code))
}

func (h *house) drawDueHere(c echo.Context, v *desk.DueHereView) error {
	p := dueHerePage{Page: h.page(c, &v.Frame, "Due on sealer "+v.Number), V: v}
	p.Sub, p.Back = subOf(v.SealerFacts), &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	p.Band = bandOf(&v.Frame, v.Standing)
	p.Head = p.Band.Word + ": "
	for i := range v.Tasks {
		t := &v.Tasks[i]
		if t.Open() || t.Standing == rules.DueSoon {
			p.Open = append(p.Open, cardOf(v, t))
			continue
		}
		p.Later = append(p.Later, row{Text: t.Name, Note: listed(dueWhen(&v.Frame, &t.DueTask), lastText(&v.Frame, t)),
			Href: taskPath(v.Code, t.Code)})
	}
	for i := range v.Tasks {
		if t := &v.Tasks[i]; t.Figures {
			p.Later = append(p.Later, row{Text: "The last calibration", Note: "what was found, and what it meant for each pouch",
				Href: "/S/" + v.Code + "/calibrations/" + seqText(t.Last.Seq)})
		}
	}
	p.None = len(p.Open) == 0
	return h.render(c, http.StatusOK, "duehere", p)
}

func taskPath(code, task string) string { return "/S/" + code + "/tasks/" + escapeTask(task) }

// escapeTask keeps what an address can hold; codes are made of nothing else.
func escapeTask(code string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' {
			return r
		}
		return -1
	}, code)
}

func cardOf(v *desk.DueHereView, t *desk.TaskRow) taskCard {
	card := taskCard{hidden: hidden{ID: v.NewID.Derive("done " + t.Code), Seen: v.Size}, Name: t.Name,
		When: capital(dueWhen(&v.Frame, &t.DueTask)), Last: capital(lastText(&v.Frame, t)), To: taskPath(v.Code, t.Code) + "/done",
		For: t.Due.String()}
	card.Over = t.Standing == rules.DueOver
	if !t.Mine {
		card.Who = "For " + rolesText(t.Who) + ", by the department's plan."
	}
	path := taskPath(v.Code, t.Code)
	switch {
	case t.Code == record.CalibrationTask && v.Type != record.Impulse:
		if v.Can("Calibrate") && t.Mine {
			card.Actions = append(card.Actions, Action{Text: "Enter the calibration", Tone: "main", Href: "/S/" + v.Code + "/calibrate"})
		}
		if v.Can("ExtendTask") {
			card.Actions = append(card.Actions, Action{Text: "Let it wait, or enter a report alone", Href: path})
		}
	case t.Mine:
		card.Actions = []Action{{Text: "Done", Tone: "main"},
			{Text: "Add a reading, photograph or note", Note: "or skip it this time", Href: path}}
	case v.Can("ExtendTask"):
		card.Actions = []Action{{Text: "Let it wait", Href: path + "/extend"}}
	}
	return card
}

func lastText(f *desk.Frame, t *desk.TaskRow) string {
	if t.Last == nil {
		return "no record of it yet, counted from " + dayText(f, t.Since)
	}
	text := "last done " + dayText(f, t.Last.Day)
	if t.Last.Skipped {
		text = "skipped " + dayText(f, t.Last.Day)
	}
	return listed(text, with("by", t.LastBy))
}
