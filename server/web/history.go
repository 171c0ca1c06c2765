package web

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type historyPage struct {
	Page
	Events []event
	Text   string
	Older  string
	Newer  string
}

func (h *house) askHistory(c echo.Context) (*desk.HistoryView, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	before := int64(record.None)
	if text := c.QueryParam("before"); text != "" {
		if before, err = strconv.ParseInt(text, 10, 64); err != nil || before < 0 {
			return nil, fault.New(fault.Unknown, "There is no such page.")
		}
	}
	return h.desk.History(caller(c), string(code), record.Seq(before))
}

// drawHistory draws a sealer's records, newest first.
func (h *house) drawHistory(c echo.Context, v *desk.HistoryView) error {
	p := historyPage{Page: h.page(c, &v.Frame, "Records"), Events: timeline(&v.Frame, v.Lines), Text: itoa(len(v.Lines)) + " records"}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	if v.Older != record.None {
		p.Older = "/S/" + v.Code + "/history?before=" + strconv.FormatInt(int64(v.Older), 10)
	}
	if c.QueryParam("before") != "" {
		p.Newer = "/S/" + v.Code + "/history"
	}
	return h.render(c, http.StatusOK, "history", p)
}
