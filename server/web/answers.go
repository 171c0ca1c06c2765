package web

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// answersPage is what one shows to a surveyor who looks over the shoulder.
type answersPage struct {
	Page
	Choose  []choice
	Chosen  string
	Answers []answer
}

// answer is a question, what is to be said to it in a sentence, the records that
// say so, and where more of them are.
type answer struct {
	Anchor, Question string
	Short            string
	Rows             []row
	Links            []Link
}

func (h *house) askAnswers(c echo.Context) (*desk.AnswersView, error) {
	code := c.QueryParam("sealer")
	if code != "" {
		parsed, err := labels.ParseCode(code)
		if err != nil {
			return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
		}
		code = string(parsed)
	}
	return h.desk.Answers(caller(c), code)
}

func (h *house) drawAnswers(c echo.Context, v *desk.AnswersView) error {
	p := answersPage{Page: h.page(c, &v.Frame, "What surveyors ask")}
	p.Sub = "all sealers, as of " + v.Clock(v.Now)
	if v.Number != "" {
		p.Sub = "sealer " + v.Number + ", as of " + v.Clock(v.Now)
	}
	p.Chosen = v.Code
	p.Choose = append(p.Choose, choice{Value: "", Text: "All sealers"})
	for _, s := range v.Choose {
		p.Choose = append(p.Choose, choice{Value: s.Code, Text: "Sealer " + s.Text})
	}
	p.Answers = []answer{howTested(v), howWorks(v), dayByDay(v), whenFailed(v), whoApproved(v), whenCalibrated(v), whatMaintained(v),
		whoTrained(v), canChange(v)}
	return h.render(c, http.StatusOK, "answers", p)
}

func howTested(v *desk.AnswersView) answer {
	a := answer{Anchor: "tested", Question: "How is each sealer tested?",
		Short: "With test pouches, before first use on every day of use, as the plan for its type says."}
	for _, p := range v.Plans {
		line := "test pouches " + placesLine(p.Places) + "; " + testsLine(p.Tests)
		if p.ReturnGood > 0 {
			line = sentences(line, "after a repair "+itoa(p.ReturnGood)+" good in a row at the same places")
		}
		if len(p.PerShift) > 0 {
			line = sentences(line, "also at the begin of each shift")
		}
		line = sentences(line, unlessFalse(p.Changeover, "also before each changeover"), unlessFalse(p.Closing, "also when sealing ends"))
		a.Rows = append(a.Rows, row{Text: capital(typeWords[p.Type]), Note: sentences(line, p.Policy)})
	}
	if v.Can("SetPlan") {
		a.Links = []Link{{Href: "/set-up", Text: "Check plans"}}
	}
	return a
}

func howWorks(v *desk.AnswersView) answer {
	a := answer{Anchor: "works", Question: "How do you know this sealer works?"}
	ready := 0
	for i := range v.Works {
		w := &v.Works[i]
		b := bandOf(&v.Frame, w.Standing)
		b.Word, b.Note, b.Size = shortWord(b.Word), "", "row"
		note := "no good check on record"
		if w.At != 0 {
			note = listed("good check "+v.Clock(w.At), w.By, w.With)
			if len(w.Tests) > 0 {
				note = sentences(note, testsLine(w.Tests)+"; test pouches "+placesLine(w.Places))
			}
			note = sentences(note, with("kit", w.Kit))
		}
		if w.Standing.State == record.Ready {
			ready++
		}
		a.Rows = append(a.Rows, row{Text: "Sealer " + w.Number, Note: note, Href: "/S/" + w.Code + "/history", Band: b})
	}
	a.Short = itoa(ready) + " of " + itoa(len(v.Works)) + " may seal now. A passing check proves only the places and the kinds of fault that it tested."
	return a
}

func dayByDay(v *desk.AnswersView) answer {
	a := answer{Anchor: "days", Question: "Was it checked on every day of use?", Links: []Link{{Href: "/records", Text: "Day by day"}}}
	type gap struct {
		day  record.Date
		what string
	}
	gaps := map[gap][]string{}
	checked, days, missing := 0, 0, 0
	for _, s := range v.Days {
		for _, d := range s.Days {
			switch d.Status {
			case rules.DayNotUsed, rules.DayClosed, rules.DayOut, rules.DayOpen:
				continue
			case rules.DayChecked:
				checked++
			default:
				missing++
				gaps[gap{d.Day, dayWords[d.Status]}] = append(gaps[gap{d.Day, dayWords[d.Status]}], s.Number)
			}
			days++
		}
	}
	for _, g := range slices.SortedFunc(maps.Keys(gaps), func(x, y gap) int {
		return cmp.Or(cmp.Compare(y.day, x.day), strings.Compare(x.what, y.what))
	}) {
		a.Rows = append(a.Rows, row{Text: g.day.UTC().Format("Mon 2 Jan 2006"), Note: sealersLine(gaps[g]) + ": " + g.what})
	}
	if days == 0 {
		a.Short = "No day in use is over yet."
		return a
	}
	a.Short = itoa(checked) + " of " + itoa(days) + " days in use since " + dateText(v.From) + " were checked before first use."
	if missing > 0 {
		a.Short += " The others are named here."
	}
	if v.Late > 0 {
		a.Short += " " + itoa(v.Late) + " entries were written down late and are marked as late."
	}
	return a
}

func whenFailed(v *desk.AnswersView) answer {
	a := answer{Anchor: "failed", Question: "Show me when it failed, and what you did.",
		Short: "No failure is on record.", Links: []Link{{Href: "/problems", Text: "All problems"}}}
	for i := range v.Failed {
		f := &v.Failed[i]
		note := listed(whatLine(&f.ProblemRef), v.Clock(f.At))
		if f.Finding != "" {
			note = sentences(note, "found: "+findingWords[f.Finding]+", "+actionWords[f.Action])
		}
		for _, e := range f.Endings {
			if e.At != 0 {
				note = sentences(note, strings.ToLower(endingWords[e.What])+" "+v.Clock(e.At)+by(e.By))
			}
		}
		a.Rows = append(a.Rows, row{Text: "Sealer " + f.Sealer + " · problem " + itoa(f.Number), Note: note, Href: problemPath(f.ID)})
	}
	if n := len(v.Failed); n > 0 {
		a.Short = "The newest " + itoa(n) + ", each with its packs, its repair and its return checks."
		if n == 1 {
			a.Short = "Once, with its packs, its repair and its return checks."
		}
	}
	return a
}

func whoApproved(v *desk.AnswersView) answer {
	a := answer{Anchor: "approved", Question: "Who approved this setting, and why?",
		Short: itoa(len(v.Approved)) + " approved settings stand, each by a lead, with what it rests on."}
	if len(v.Approved) == 1 {
		a.Short = "One approved setting stands, by a lead, with what it rests on."
	}
	for i := range v.Approved {
		s := &v.Approved[i]
		note := listed(basisWords[s.Set.Basis], documentText(s.Set.IFU)) + "; " + s.Set.By + ", " + dateText(s.Set.On)
		if s.Set.Provisional != 0 {
			note = sentences(note, "provisional until "+dateText(s.Set.Provisional))
		}
		value := dialValue(&s.Set)
		a.Rows = append(a.Rows, row{Text: "Sealer " + s.Sealer.Text + " · " + s.Pouch + " · " + value, Note: note, Href: "/S/" + s.Sealer.Code + "/approvals"})
	}
	return a
}

func dialValue(s *desk.Setting) string {
	return listed(settingText(s.Value, s.Unit), holdLine(s))
}

func whenCalibrated(v *desk.AnswersView) answer {
	a := answer{Anchor: "calibrated", Question: "When was it calibrated, against what?", Links: []Link{{Href: "/due", Text: "What is due"}}}
	n := 0
	for i := range v.Kept {
		k := &v.Kept[i]
		if k.Code != record.CalibrationTask {
			continue
		}
		r := keptRow(v, k)
		if k.Against != nil {
			n++
			r.Note = sentences(r.Note, listed("against "+k.Against.Name, with("certificate", k.Against.Certificate)))
			if k.Against.Due != 0 {
				r.Note = sentences(r.Note, "itself due "+dateText(k.Against.Due))
			}
		}
		a.Rows = append(a.Rows, r)
	}
	a.Short = itoa(n) + " of " + itoa(len(v.Works)) + " sealers have a calibration on record."
	return a
}

func whatMaintained(v *desk.AnswersView) answer {
	a := answer{Anchor: "maintained", Question: "Is maintenance done on time?", Links: []Link{{Href: "/due", Text: "What is due"}}}
	over, all := 0, 0
	for i := range v.Kept {
		k := &v.Kept[i]
		if k.Code == record.CalibrationTask {
			continue
		}
		all++
		if k.Standing == rules.DueOver {
			over++
		}
		if v.Code != "" || k.Standing == rules.DueOver || k.Standing == rules.DueExtended {
			a.Rows = append(a.Rows, keptRow(v, k))
		}
	}
	switch {
	case all == 0:
		a.Short = "No plan of maintenance is on record."
	case over == 0:
		a.Short = "Nothing of " + itoa(all) + " tasks is overdue."
	default:
		a.Short = itoa(over) + " of " + itoa(all) + " tasks are overdue."
	}
	return a
}

func keptRow(v *desk.AnswersView, k *desk.KeptAnswer) row {
	note := "not done yet on record"
	if k.Done != 0 {
		note = "done " + dateText(k.Done) + by(k.By)
	}
	note = sentences(note, "due "+dateText(k.Due))
	if k.Standing == rules.DueOver {
		note = sentences(note, "overdue")
	}
	return row{Text: "Sealer " + k.Sealer.Text + " · " + k.Task, Note: note, Href: "/S/" + k.Sealer.Code + "/history"}
}

func whoTrained(v *desk.AnswersView) answer {
	a := answer{Anchor: "trained", Question: "Who is trained?"}
	if v.Training == nil {
		a.Short = "The lead shows it: sign-offs are on record by person and type of sealer."
		return a
	}
	a.Links = []Link{{Href: "/training", Text: "By person and type of sealer"}}
	signed := 0
	for _, r := range v.Training.Rows {
		if r.Lead {
			continue
		}
		note := ""
		for i, cell := range r.Cells {
			if cell.Check.On != 0 && !cell.Check.Over {
				note = listed(note, typeWords[v.Training.Types[i]]+" "+dateText(cell.Check.On))
			}
		}
		if note != "" {
			signed++
			a.Rows = append(a.Rows, row{Text: r.Person.Text, Note: note})
		}
	}
	a.Short = itoa(signed) + " people are signed off to run checks."
	if !v.Training.Ask {
		a.Short += " This department does not ask for sign-offs in tidemark; its own records count."
	}
	return a
}

func canChange(v *desk.AnswersView) answer {
	return answer{Anchor: "change", Question: "Can these records be changed?",
		Short: "Nothing on record is changed or removed. A correction is a new record that names the old one and says why; a late entry is marked as late. " +
			"Each print carries the size of the records and a part of their checksum, so that anything rewritten later shows.",
		Links: []Link{{Href: "/records", Text: "Records and record packs"}}}
}
