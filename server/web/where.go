package web

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// wherePage tells clinical engineering and the lead where a sealer fails.
type wherePage struct {
	Page
	V     *desk.WhereView
	Bar   *bar
	Said  []string // what the numbers carry
	Table table
	Facts []fact
	Sure  *table
	Links []Link
}

// bar is a drawing: see static/templates/partials/bar.html.
type bar struct {
	Label  string
	H, Y   int
	Ticks  []tick
	Dots   []dot
	Crowd  *crowdMark
	Thirds []tick
}

type crowdMark struct{ X, W, Text string }

func (h *house) askWhere(c echo.Context) (*desk.WhereView, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	return h.desk.Where(caller(c), string(code))
}

func (h *house) drawWhere(c echo.Context, v *desk.WhereView) error {
	p := wherePage{Page: h.page(c, &v.Frame, "Where and why"), V: v, Bar: barOf(v), Said: whereSaid(v)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	p.Table = table{Caption: "Faults of the last 18 months", Head: []head{{Text: "Found"}, {Text: "What"}, {Text: "Where"}, {Text: "Pouch"},
		{Text: "Engineering found"}}}
	for i := range v.Faults {
		p.Table.Rows = append(p.Table.Rows, faultCells(&v.Frame, &v.Faults[i]))
	}
	p.Facts = whereFacts(v)
	if len(v.Sure) > 0 {
		p.Sure = sureTable(v)
	}
	p.Links = []Link{{Href: "/S/" + v.Code + "/history", Text: "Records of sealer " + v.Number}}
	return h.render(c, http.StatusOK, "where", p)
}

func faultCells(f *desk.Frame, s *desk.FaultSpot) []cell {
	where := placeWords[s.Place]
	if s.CM != nil {
		where = "at " + number(*s.CM) + " cm"
	}
	if where == "" {
		where = "not known"
	}
	if s.Again {
		where += ", the same place again"
	}
	found := findingWords[s.Finding]
	if found == "" {
		found = "nothing said yet"
	}
	return []cell{{Text: f.Clock(s.At), Href: problemPath(s.ID)}, {Text: whatLine(&s.ProblemRef)}, {Text: where},
		{Text: listed(s.Pouch, with("lot", s.Lot))}, {Text: found, Tone: map[bool]string{true: "soft"}[s.Finding == ""]}}
}

// barOf draws the bar; nil if its width or every place is unknown.
func barOf(v *desk.WhereView) *bar {
	b := &bar{Label: "Faults along the bar of sealer " + v.Number + "; they are listed below."}
	at := func(cm float64) float64 { return 16 + cm/float64(v.WidthCM)*328 }
	stacked, thirds, high := map[int]int{}, map[record.Place]int{}, 0
	var known []desk.FaultSpot
	for _, f := range v.Faults {
		switch {
		case f.CM != nil && v.WidthCM > 0 && *f.CM <= float64(v.WidthCM):
			known = append(known, f)
			slot := int(at(*f.CM) / 10)
			stacked[slot]++
			high = max(high, stacked[slot])
		case f.Place == record.Left || f.Place == record.Middle || f.Place == record.Right:
			thirds[f.Place]++
		}
	}
	if v.WidthCM == 0 || len(known)+len(thirds) == 0 {
		return nil
	}
	b.Y = 46 + 12*high
	b.H = b.Y + 40
	clear(stacked)
	for _, f := range known {
		slot := int(at(*f.CM) / 10)
		stacked[slot]++
		b.Dots = append(b.Dots, dot{X: coord(at(*f.CM)), Y: coord(float64(b.Y - 16 - 12*stacked[slot])), Kind: "a"})
	}
	for i, p := range []record.Place{record.Left, record.Middle, record.Right} {
		if n := thirds[p]; n > 0 {
			b.Thirds = append(b.Thirds, tick{At: coord(16 + 328*(float64(i)+.5)/3), Text: placeWords[p] + ": " + itoa(n)})
		}
	}
	step := 5
	if v.WidthCM > 40 {
		step = 10
	}
	for cm := 0; cm <= v.WidthCM; cm += step {
		b.Ticks = append(b.Ticks, tick{At: coord(at(float64(cm))), Text: itoa(cm)})
	}
	if c := v.Crowd; c != nil && c.K > 1 {
		b.Crowd = &crowdMark{X: coord(at(c.From) - 7), W: coord(at(c.To) - at(c.From) + 14), Text: itoa(c.K) + " of " + itoa(c.N)}
	}
	return b
}

// whereSaid says what the numbers carry, and no more.
func whereSaid(v *desk.WhereView) (said []string) {
	known := 0
	for _, f := range v.Faults {
		if f.CM != nil {
			known++
		}
	}
	switch c := v.Crowd; {
	case len(v.Faults) == 0 && v.Older:
		return []string{"No fault of this sealer in the last 18 months."}
	case len(v.Faults) == 0:
		return []string{"No fault of this sealer is on record."}
	case c == nil && v.WidthCM == 0:
		said = append(said, "The width of the bar is not on record, so nothing can be said about where its faults crowd.")
	case c == nil:
		said = append(said, fmt.Sprintf("The place is known in cm for %d of %d faults: too few to say whether they crowd.", known, len(v.Faults)))
	case c.ByChance:
		said = append(said, fmt.Sprintf("At most %d of %d faults lie within %s cm. Chance alone crowds as many in %s: nothing points to one place.",
			c.K, c.N, number(c.Window), oftenIn(c.P)))
	default:
		said = append(said, fmt.Sprintf("%d of %d faults lie within %s cm, from %s to %s cm from the left. Chance alone would crowd as many in %s: look at this place.",
			c.K, c.N, number(c.Window), number(c.From), number(c.To), oftenIn(c.P)))
	}
	if n := len(v.Faults); v.Faults[0].Again {
		said = append(said, "The newest of "+itoa(n)+" faults is at the same place as one in the 30 days before it.")
	}
	if v.Second > 0 {
		said = append(said, packsText(v.Second)+" with a second seal in the last 90 days: a sign that people did not trust the first one. It mends nothing.")
	}
	return said
}

// oftenIn writes a probability in words that carry no more than it knows.
func oftenIn(p float64) string {
	switch {
	case p < .001:
		return "fewer than 1 of 1,000 such sets"
	case p < .01:
		return fmt.Sprintf("about %d of 1,000 such sets", int(p*1000+.5))
	}
	return fmt.Sprintf("about %d of 100 such sets", int(p*100+.5))
}

func whereFacts(v *desk.WhereView) (list []fact) {
	add := func(term string, counts []desk.Count, word func(string) string) {
		var parts []string
		for _, c := range counts {
			parts = append(parts, word(c.What)+" "+itoa(c.N))
		}
		if len(parts) > 0 {
			list = append(list, fact{Term: term, Text: strings.Join(parts, ", ")})
		}
	}
	same := func(s string) string { return s }
	kind := func(s string) string { return strings.ToLower(faultWords[record.Fault(s)]) }
	add("By kind", v.Kinds, kind)
	add("By pouch", v.Pouches, same)
	add("By lot", v.Lots, same)
	add("Of packing, not of the sealer", v.Packing, kind)
	return list
}

// sureTable tells a lead what a row of good test seals shows, place by place.
func sureTable(v *desk.WhereView) *table {
	t := &table{Caption: "How sure “no faults” is", Head: []head{{Text: "Place"}, {Text: "Good test seals in a row", Num: true}, {Text: "What that shows"}}}
	for _, s := range v.Sure {
		shows := "nothing yet"
		if s.N > 0 {
			shows = "fewer than " + percentUp(s.Below) + " of test seals there would fail (95 % confidence)"
		}
		t.Rows = append(t.Rows, []cell{{Text: placeWords[s.Place]}, {Text: itoa(s.N)}, {Text: shows}})
	}
	return t
}

// percentUp rounds a bound up: a bound must not promise more than it knows.
func percentUp(p float64) string {
	tenths := int(p*1000) + 1
	if tenths >= 100 || tenths%10 == 0 {
		return itoa((tenths+9)/10) + " %"
	}
	return fmt.Sprintf("%d.%d %%", tenths/10, tenths%10)
}
