package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

type recordsPage struct {
	Page
	V        *desk.RecordsView
	From, To string
	Table    table
	Gaps     table
	Strips   []strip
	Problems []row
	Late     []row
	Error    string
}

// strip is a sealer's days, drawn one beside the other.
type strip struct {
	Name, Href string
	Days       []stripDay
}

type stripDay struct{ Class, Title string }

func (h *house) askRecords(c echo.Context) (*desk.RecordsView, error) {
	var in desk.PeriodIn
	if err := (&echo.DefaultBinder{}).BindQueryParams(c, &in); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "Give the days as 2026-01-31.")
	}
	return h.desk.Records(caller(c), in)
}

func (h *house) drawRecords(c echo.Context, v *desk.RecordsView) error {
	p := recordsPage{Page: h.page(c, &v.Frame, "Records"), V: v, From: v.From.String(), To: v.To.String()}
	p.Sub = v.From.UTC().Format("2 Jan 2006") + " to " + v.To.UTC().Format("2 Jan 2006")
	p.Table, p.Gaps = countTable(v), gapTable(v)
	for _, s := range v.Sealers {
		st := strip{Name: "Sealer " + s.Number, Href: "/S/" + s.Code + "/history"}
		for _, d := range s.Days {
			st.Days = append(st.Days, stripDay{Class: string(d.Status), Title: d.Day.UTC().Format("Mon 2 Jan") + ": " + dayWords[d.Status]})
		}
		p.Strips = append(p.Strips, st)
	}
	for i := range v.Problems {
		p.Problems = append(p.Problems, problemRow(&v.Frame, desk.NeedRow{Problem: &v.Problems[i]}))
	}
	for _, l := range v.Late {
		p.Late = append(p.Late, row{Text: "Sealer " + l.Sealer + ", " + v.Clock(l.From),
			Note: "written down " + v.Clock(l.At) + by(l.Who) + forWhom(l.For)})
	}
	return h.render(c, http.StatusOK, "records", p)
}

func forWhom(name string) string {
	if name == "" {
		return ""
	}
	return " for " + name
}

var dayWords = map[rules.DayStatus]string{
	rules.DayChecked:  "checked",
	rules.DayAfterUse: "checked after first use",
	rules.DayLate:     "written down late",
	rules.DayImported: "from a file",
	rules.DayBefore:   "before these records",
	rules.DayUnsigned: "by somebody not signed off",
	rules.DayMissing:  "no check on record",
	rules.DayNotUsed:  "not used",
	rules.DayClosed:   "closed",
	rules.DayOut:      "out of service",
	rules.DayOpen:     "today, not yet",
}

// dayColumns leaves out what never was, but always shows the two that matter.
func dayColumns(v *desk.RecordsView) (shown []rules.DayStatus) {
	for _, status := range rules.DayStatuses() {
		total := 0
		for _, s := range v.Sealers {
			total += s.Count[status]
		}
		if total > 0 || status == rules.DayChecked || status == rules.DayMissing {
			shown = append(shown, status)
		}
	}
	return shown
}

// countTable counts days by what became of their check. Nothing is averaged:
// days in use stand beside days checked.
func countTable(v *desk.RecordsView) table {
	t := table{Caption: "Days by what became of their check", Head: []head{{Text: "Sealer"}, {Text: "Days in use", Num: true}}}
	shown := dayColumns(v)
	for _, s := range shown {
		t.Head = append(t.Head, head{Text: capital(dayWords[s]), Num: true})
	}
	for _, s := range v.Sealers {
		cells := []cell{{Text: "Sealer " + s.Number, Href: "/S/" + s.Code + "/history"}, {Text: itoa(rules.InUse(s.Days))}}
		for _, status := range shown {
			c := cell{Text: itoa(s.Count[status])}
			if status == rules.DayMissing && s.Count[status] > 0 {
				c.Tone = "out"
			}
			cells = append(cells, c)
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}

// gapTable names each day that was in use and not checked before first use.
func gapTable(v *desk.RecordsView) table {
	t := table{Caption: "Each gap, by day", Head: []head{{Text: "Day"}, {Text: "Sealer"}, {Text: "What is known"}}}
	for day := v.To; day >= v.From; day-- {
		for _, s := range v.Sealers {
			if i := int(day - firstDay(s)); len(s.Days) > 0 && i >= 0 && i < len(s.Days) {
				if text := gapText(s.Days[i]); text != "" {
					t.Rows = append(t.Rows, []cell{{Text: day.UTC().Format("Mon 2 Jan 2006")}, {Text: s.Number}, {Text: text}})
				}
			}
		}
	}
	return t
}

func firstDay(s desk.SealerRecords) record.Date {
	if len(s.Days) == 0 {
		return 0
	}
	return s.Days[0].Day
}

func gapText(d rules.DayRow) string {
	switch d.Status {
	case rules.DayMissing:
		if d.Said {
			return "no check on record; said later that it was not used"
		}
		return "no check on record, nobody said it was not used"
	case rules.DayLate:
		return "checked, written down late"
	case rules.DayUnsigned:
		return "checked by somebody who was not signed off; no lead has accepted it"
	case rules.DayAfterUse:
		return "packs were counted before the check"
	}
	return ""
}
