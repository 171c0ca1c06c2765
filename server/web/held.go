package web

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// heldPage tells what came after each repair and each part that was turned or
// replaced.
type heldPage struct {
	Page
	Rows  []row
	Empty bool
}

func (h *house) askHeld(c echo.Context) (*desk.HeldView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Held(caller(c), code)
}

func (h *house) drawHeld(c echo.Context, v *desk.HeldView) error {
	p := heldPage{Page: h.page(c, &v.Frame, "Did it hold?"), Rows: heldRows(&v.Frame, v.Mends), Empty: len(v.Mends) == 0}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/facts", Text: "Sealer " + v.Number}
	return h.render(c, http.StatusOK, "held", p)
}

func heldRows(f *desk.Frame, list []desk.HeldRow) (rows []row) {
	for i := range list {
		m := &list[i]
		r := row{Text: listed(mendText(m), dated(f, m.At)), Note: heldText(f, m)}
		if m.Number > 0 {
			r.Href = problemPath(m.Problem)
			r.Text += " · problem " + itoa(m.Number)
		}
		rows = append(rows, r)
	}
	return rows
}

func mendText(m *desk.HeldRow) string {
	switch m.What {
	case rules.MendedRepair:
		return listed("Handed back", findingWords[m.Name])
	case rules.MendedFix:
		return listed("First-line fix", fixCauses[m.Name])
	case rules.MendedTask:
		return m.Task
	}
	return disturbWords[m.Name]
}

// heldText is what came after a mend: "1 fault at the same place (right, 31 cm from
// the left), after 4 days; none elsewhere".
func heldText(f *desk.Frame, m *desk.HeldRow) string {
	if m.Place == record.NoPlace && m.AtCM == "" {
		return sentences(faultsAfter(f, m, m.Same+m.Other, m.NextOther, "on the whole bar"), "no place was known before it")
	}
	at := " (" + faultAt("", m.Place, m.AtCM) + ")"
	return sentences(faultsAfter(f, m, m.Same, m.NextSame, "at the same place"+at), faultsAfter(f, m, m.Other, m.NextOther, "elsewhere"))
}

func faultsAfter(f *desk.Frame, m *desk.HeldRow, n int, first record.Time, where string) string {
	if n == 0 {
		text := "no fault " + where + " in " + daysText(m.At, m.Through)
		if m.Open {
			text += " so far"
		}
		return text
	}
	return countText(n, "fault") + " " + where + ", the first after " + daysText(m.At, first)
}

// daysText is the time between in days, rounded down; hours below one day.
func daysText(from, to record.Time) string {
	hours := int(to.Sub(from).Hours())
	if hours < 48 {
		return strconv.Itoa(hours) + " hours"
	}
	return countText(hours/24, "day")
}
