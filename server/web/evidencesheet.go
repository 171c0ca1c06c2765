package web

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// evidencePage is one printed page for whoever mends the sealer.
type evidencePage struct {
	Page
	V       *desk.EvidenceView
	Facts   []fact
	Photos  []evidenceShot
	Bar     *bar
	Earlier *table
	Checks  *table
	Tasks   *table
	Again   string
	Summary *Summary
}

// evidenceShot is a photograph, its cut-out beside it, and the form to mark it.
type evidenceShot struct {
	hidden
	Src, Cut, Alt string
	To            string
	Photo         string
	Width, Height int // as drawn, so that a tap tells its place
	CanMark       bool
	Marked        bool
	Thirds        []choice
}

// shotWidth is how wide a photograph is drawn, in CSS pixels.
const shotWidth = 320

func (h *house) askEvidence(c echo.Context) (*desk.EvidenceView, error) {
	id, err := problemID(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Evidence(caller(c), id)
}

func (h *house) drawEvidence(c echo.Context, v *desk.EvidenceView) error {
	p := h.evidencePage(c, v, nil)
	p.Back = &Link{Href: problemPath(v.Ref.ID), Text: "Problem " + itoa(v.Ref.Number)}
	return h.render(c, http.StatusOK, "evidence", p)
}

func (h *house) askLinkEvidence(c echo.Context) (*desk.EvidenceView, error) {
	return h.desk.Evidence(caller(c), record.ID{})
}

func (h *house) drawLinkEvidence(c echo.Context, v *desk.EvidenceView) error {
	p := h.evidencePage(c, v, nil)
	p.Home, p.Back = linkPath(c), &Link{Href: linkPath(c), Text: "Problem " + itoa(v.Ref.Number)}
	return h.render(c, http.StatusOK, "evidence", p)
}

func (h *house) evidencePage(c echo.Context, v *desk.EvidenceView, err error) *evidencePage {
	p := &evidencePage{Page: h.page(c, &v.Frame, "Evidence sheet"), V: v, Summary: summaryOf(err)}
	p.Sub = listed("problem "+itoa(v.Ref.Number), "sealer "+v.Facts.Number, with("asset", v.Facts.Asset))
	p.Facts, p.Earlier, p.Checks, p.Tasks = evidenceFacts(v), repairTable(v), checkTable(v), keptTable(v)
	p.Bar = barOf(&desk.WhereView{Frame: v.Frame, SealerFacts: v.Facts, Faults: v.Spots})
	if v.Again {
		p.Again = "The same place again: within 30 days, and within 3 cm or in the same third."
	}
	for i, shot := range v.Photos {
		p.Photos = append(p.Photos, shotOf(v, shot, i))
	}
	return p
}

func shotOf(v *desk.EvidenceView, shot desk.EvidencePhoto, n int) evidenceShot {
	src := "/photographs/" + shot.ID.String()
	s := evidenceShot{hidden: formFor(&v.Frame, desk.From{}, "mark "+strconv.Itoa(n)), Src: src, Alt: "photograph " + itoa(n+1) + " of the fault",
		To: problemPath(v.ID) + "/marks", Photo: shot.ID.String(), Width: shotWidth, Height: shotWidth,
		CanMark: v.Can("MarkPhoto"), Marked: shot.X >= 0}
	if shot.Width > 0 {
		s.Height = max(1, shotWidth*shot.Height/shot.Width)
	}
	if s.Marked {
		s.Cut = src + "/cut-out?x=" + itoa(shot.X) + "&y=" + itoa(shot.Y)
	}
	for _, y := range []string{"top", "middle", "bottom"} {
		for _, x := range []string{"left", "middle", "right"} {
			s.Thirds = append(s.Thirds, choice{Value: x + " " + y, Text: x + ", " + y})
		}
	}
	return s
}

// postMark takes a tap on a photograph, which tells its place in pixels as drawn,
// or a part of it.
func (h *house) postMark(c echo.Context) error {
	var in desk.MarkIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	if in.Third == "" {
		x, err1 := strconv.Atoi(c.FormValue("at.x"))
		y, err2 := strconv.Atoi(c.FormValue("at.y"))
		high, err3 := strconv.Atoi(c.FormValue("height"))
		if err1 != nil || err2 != nil || err3 != nil || high < 1 {
			return fault.Field("third", "Tap the photograph, or choose a part of it.")
		}
		in.X, in.Y = min(1000, max(0, x*1000/shotWidth)), min(1000, max(0, y*1000/high))
	}
	if _, err := h.desk.MarkPhoto(c.Request().Context(), caller(c), in); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, problemPath(in.Problem)+"/evidence?said=saved")
}

// cutOut serves the enlarged neighbourhood of a place on a photograph.
func (h *house) cutOut(c echo.Context) error {
	id, err := record.ParseID(c.Param("id"))
	if err != nil {
		return fault.New(fault.Unknown, "There is no such photograph here.")
	}
	x, err1 := strconv.Atoi(c.QueryParam("x"))
	y, err2 := strconv.Atoi(c.QueryParam("y"))
	if err1 != nil || err2 != nil {
		return fault.New(fault.Invalid, "The marked place lies outside the photograph. Mark it again.")
	}
	b, err := h.desk.CutOut(c.Request().Context(), caller(c), id, x, y)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	return c.Blob(http.StatusOK, "image/jpeg", b)
}

func evidenceFacts(v *desk.EvidenceView) []fact {
	f := &v.Frame
	var found []string
	for _, at := range v.Found {
		if at.Set != "" || at.Shown != "" {
			found = append(found, listed(dated(f, at.At), with("set", at.Set), with("shown", at.Shown)))
		}
	}
	measured := ""
	for _, l := range v.Measured {
		w := describe(f, &l)
		measured = sentences(measured, listed(dated(f, l.From), w.Title, w.Text))
	}
	table := "none on record"
	if v.Table != nil {
		table = "of " + dated(f, v.Table.From) + ", " + dayCount(v.TableDays) + " old"
	}
	return known([]fact{
		{Term: "What", Text: capital(whatLine(&v.Ref))},
		{Term: "Found", Text: listed(dated(f, v.Ref.At), v.Ref.By)},
		{Term: "Sealer", Text: sealerLine(v.Facts)},
		{Term: "Pouch", Text: listed(v.Pouch, with("lot", v.Lot))},
		{Term: "Approved setting", Text: settingFact(v.Setting)},
		{Term: "Found at", Text: joined("; ", found)},
		{Term: "Measured", Text: measured},
		{Term: "Temperature table", Text: table},
		{Term: "Work order", Text: v.Order},
	})
}

func dayCount(n int) string {
	if n == 1 {
		return "1 day"
	}
	return itoa(n) + " days"
}

// repairTable is what earlier problems found and did, and whether that held; with
// the facts above it, it has every place that the bar shows.
func repairTable(v *desk.EvidenceView) *table {
	f := &v.Frame
	t := &table{Caption: "Earlier problems of this sealer", Head: []head{{Text: "Problem"}, {Text: "When"}, {Text: "Fault"}, {Text: "Found and done"}, {Text: "Did it hold?"}}}
	for i, e := range v.Earlier {
		if i == mostRepairs {
			t.Caption += ", the newest " + itoa(mostRepairs) + " of " + itoa(len(v.Earlier))
			break
		}
		what := faultAt(e.Kind, e.Place, e.AtCM)
		if e.Again {
			what = sentences(what, "the same place")
		}
		done := listed(findingWords[e.Finding], actionWords[e.Action])
		if done == "" {
			done = "nothing on record"
		}
		t.Rows = append(t.Rows, []cell{{Text: itoa(e.Number)}, {Text: dated(f, e.At)}, {Text: what}, {Text: done},
			mendedCell(&e)})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

const mostRepairs = 6

// mendedCell tells in short what came after an earlier problem's last mend; the
// page "Did it hold?" tells all of it.
func mendedCell(e *desk.RepairView) cell {
	m := e.Held
	switch {
	case m == nil:
		return cell{Text: "not known"}
	case m.Same > 0:
		return cell{Text: "no: the same place again after " + daysText(m.At, m.NextSame), Tone: "out"}
	case m.Other > 0:
		return cell{Text: "no fault there; elsewhere after " + daysText(m.At, m.NextOther)}
	case m.Open:
		return cell{Text: "so far, " + daysText(m.At, m.Through), Tone: "ready"}
	}
	return cell{Text: "for " + daysText(m.At, m.Through) + ", until the next"}
}

func checkTable(v *desk.EvidenceView) *table {
	f := &v.Frame
	t := &table{Caption: "Newest checks", Head: []head{{Text: "When"}, {Text: "Outcome"}, {Text: "Where"}, {Text: "Set"}, {Text: "Shown"}, {Text: "By"}}}
	for i := range v.Checks {
		l := &v.Checks[i]
		b, ok := l.Body.(*record.Check)
		if !ok {
			continue
		}
		w := describe(f, l)
		set := b.Set
		if set == "" {
			set = "as approved"
		}
		t.Rows = append(t.Rows, []cell{{Text: dated(f, l.From)}, {Text: w.Title, Tone: w.Tone}, {Text: placesLine(b.Places)}, {Text: set}, {Text: b.Shown}, {Text: l.Who}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// keptTable is the maintenance as far as it is on record.
func keptTable(v *desk.EvidenceView) *table {
	f := &v.Frame
	t := &table{Caption: "Maintenance", Head: []head{{Text: "Task"}, {Text: "Last"}, {Text: "Due"}}}
	for i := range v.Tasks {
		k := &v.Tasks[i]
		t.Rows = append(t.Rows, []cell{{Text: k.Name}, {Text: lastText(f, k)}, {Text: dueWhen(f, &k.DueTask)}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}
