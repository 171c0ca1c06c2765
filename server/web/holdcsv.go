package web

import (
	"bytes"
	"encoding/csv"
	"net/http"

	"github.com/labstack/echo/v4"
)

// holdCSV is a hold list for a spreadsheet, as RFC 4180 has it, with a mark that
// makes spreadsheets read UTF-8. Its times are local; the lists of packs that
// come in can be read back from it.
func (h *house) holdCSV(c echo.Context) error {
	v, err := h.askHold(c)
	if err != nil {
		return err
	}
	b := bytes.NewBufferString("\uFEFF")
	w := csv.NewWriter(b)
	w.UseCRLF = true
	_ = w.Write([]string{"Sealer", "Sealed from", "Sealed to", "Pack", "Pouch", "Load", "Packs", "Settled", "Where"}) // a buffer takes everything
	for _, r := range v.HoldList.Rows {
		stamp := "2006-01-02 15:04:05"
		_ = w.Write([]string{cellText(v.HoldList.Number), v.In(r.From).Format(stamp), v.In(r.To).Format(stamp), cellText(r.Mark), cellText(r.Pouch),
			cellText(r.Load), itoa(r.Count), itoa(r.Settled), cellText(atText(r.At))})
	}
	w.Flush()
	c.Response().Header().Set("Content-Disposition", `attachment; filename="hold-list-problem-`+itoa(v.Ref.Number)+`.csv"`)
	return c.Blob(http.StatusOK, "text/csv; charset=utf-8", b.Bytes())
}

// cellText keeps a spreadsheet from taking a text for a formula.
func cellText(text string) string {
	if text != "" && bytes.IndexByte([]byte("=+-@\t\r"), text[0]) >= 0 {
		return "'" + text
	}
	return text
}
