package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// boxesPage lists the boxes in use, and takes a new one.
type boxesPage struct {
	Page
	hidden
	Rows    []row
	In      desk.BoxIn
	Expires string
	Whats   []choice
	CanOpen bool
	Err     map[string]string
	Summary *Summary
}

var supplyWords = map[record.Supply]string{
	record.DyeBox: "Dye", record.IndicatorBox: "Seal indicator sheets", record.PouchBox: "Pouches",
}

func (h *house) askBoxes(c echo.Context) (*desk.BoxesView, error) { return h.desk.Boxes(caller(c)) }

func (h *house) drawBoxes(c echo.Context, v *desk.BoxesView) error {
	return h.boxesPage(c, http.StatusOK, v, desk.BoxIn{}, nil)
}

func (h *house) boxesAgain(c echo.Context, in desk.BoxIn, err error) error {
	v, viewErr := h.askBoxes(c)
	if viewErr != nil {
		return err
	}
	return h.boxesPage(c, status(err), v, in, err)
}

func (h *house) boxesPage(c echo.Context, code int, v *desk.BoxesView, in desk.BoxIn, err error) error {
	p := boxesPage{Page: h.page(c, &v.Frame, "Boxes in use"), hidden: formFor(&v.Frame, in.From, ""), In: in,
		CanOpen: v.Can("OpenBox"), Err: fieldErrors(err), Summary: summaryOf(err)}
	if in.Expires != 0 {
		p.Expires = in.Expires.String()
	}
	for i := range v.Boxes {
		p.Rows = append(p.Rows, row{Text: boxName(&v.Boxes[i]), Note: boxLine(&v.Boxes[i])})
	}
	p.Whats = boxChoices(v, in, c.QueryParam("what"))
	return h.render(c, code, "boxes", p)
}

// boxChoices offers each kind of box; a pouch is chosen with its box.
func boxChoices(v *desk.BoxesView, in desk.BoxIn, asked string) []choice {
	list := []choice{{Value: string(record.DyeBox), Text: "Dye"}, {Value: string(record.IndicatorBox), Text: "Seal indicator sheets"}}
	for _, p := range v.Pouches {
		list = append(list, choice{Value: p.ID.String(), Text: p.Text})
	}
	if in.What == record.PouchBox {
		return chosen(list, in.Pouch.String())
	}
	return chosen(list, string(in.What), asked)
}

func boxName(b *desk.BoxView) string {
	if b.Pouch != nil {
		return b.Pouch.Text
	}
	return supplyWords[b.What]
}

func boxLine(b *desk.BoxView) string {
	line := "lot " + b.Lot + ", opened " + b.On.UTC().Format("2 Jan 2006")
	switch {
	case b.Held:
		line += "; this lot is on hold: do not use it"
	case b.Expired:
		line += "; expired " + b.Expires.UTC().Format("2 Jan 2006") + ": do not use it"
	case b.Expires != 0:
		line += "; until " + b.Expires.UTC().Format("2 Jan 2006")
	}
	return line
}

// postBox reads the one choice of the form as what and whose box it is.
func (h *house) postBox(c echo.Context) error {
	var in desk.BoxIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	if id, err := record.ParseID(c.FormValue("what")); err == nil {
		in.What, in.Pouch = record.PouchBox, id
	}
	if _, err := h.desk.OpenBox(c.Request().Context(), caller(c), in); err != nil {
		return h.boxesAgain(c, in, err)
	}
	return c.Redirect(http.StatusSeeOther, "/boxes?said=opened")
}

// boxCallouts name the boxes that a check needs and that may not be used.
func boxCallouts(boxes []desk.BoxView) (list []Callout) {
	for i := range boxes {
		b := &boxes[i]
		if b.Expired {
			list = append(list, Callout{Tone: "due", Lead: boxName(b) + ", lot " + b.Lot + ", expired " + b.Expires.UTC().Format("2 Jan 2006") + ".",
				Text: "Do not use it.", Href: "/boxes", Link: "Open a new box"})
		}
	}
	return list
}
