package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type tablePage struct {
	Page
	V       *desk.TableView
	Plot    *plot
	Lines   []string
	Numbers table
	Curve   table
	Note    string
}

func (h *house) askTable(c echo.Context) (*desk.TableView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	seq, err := seqOf(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Table(caller(c), code, seq)
}

// drawTable draws a temperature table: picture, words, and the numbers behind
// both, to be read, printed and filed.
func (h *house) drawTable(c echo.Context, v *desk.TableView) error {
	p := tablePage{Page: h.page(c, &v.Frame, "Temperature table"), V: v, Plot: curvePlot(v), Note: v.Line.Note}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/settings", Text: "What the settings rest on"}
	p.Lines = append([]string{tableOrigin(v)}, fitSentences(v)...)
	p.Numbers, p.Curve = numbersTable(&v.Table), curveTable(v)
	return h.render(c, http.StatusOK, "table", p)
}

// numbersTable lists the points as they were typed.
func numbersTable(t *record.TemperatureTable) table {
	list := table{Caption: "As typed", Head: []head{{Text: "Position"}, {Text: "Place"},
		{Text: "At the face", Num: true}, {Text: "Known to", Num: true}}}
	for _, p := range t.Points {
		u := p.Uncertainty
		if u == (record.Uncertainty{}) {
			u = t.Uncertainty
		}
		list.Rows = append(list.Rows, []cell{{Text: quantityText(p.Position)}, {Text: orText(placeWords[p.Place], "whole bar")},
			{Text: quantityText(p.Face)}, {Text: quantityText(u.Quantity)}})
	}
	return list
}

// curveTable lists what the curve says at every place.
func curveTable(v *desk.TableView) table {
	list := table{Caption: "What the curve says", Head: []head{{Text: "Position"}}}
	for _, p := range v.Places {
		list.Head = append(list.Head, head{Text: orText(string(p.Place), "whole bar"), Num: true})
	}
	for _, r := range v.Says {
		line := []cell{{Text: r.Position}}
		for _, face := range r.Faces {
			line = append(line, cell{Text: face})
		}
		list.Rows = append(list.Rows, line)
	}
	return list
}
