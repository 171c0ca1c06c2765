package web

import (
	"bytes"
	"mime"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/fault"
)

// labelsPage chooses what to print: labels with the square, or pack stickers
// with the sealer number.
type labelsPage struct {
	Page
	Sealers  []choice
	Sheets   []choice
	Public   string
	Stickers bool
}

func (h *house) labelsForm(c echo.Context) error { return h.labelsPage(c, "Labels", labels.Sheets) }

func (h *house) stickersForm(c echo.Context) error {
	return h.labelsPage(c, "Pack stickers", labels.StickerSheets)
}

func (h *house) labelsPage(c echo.Context, title string, sheets []labels.Sheet) error {
	v, err := h.desk.Sealers(caller(c))
	if err != nil {
		return err
	}
	p := labelsPage{Page: h.page(c, &v.Frame, title), Public: h.public.Scheme + "://" + h.public.Host,
		Stickers: title != "Labels"}
	for _, s := range v.Sealers {
		p.Sealers = append(p.Sealers, choice{Value: s.Code, Text: "Sealer " + s.Number, Checked: c.QueryParam("code") == s.Code})
	}
	for _, s := range sheets {
		p.Sheets = append(p.Sheets, choice{Value: s.ID, Text: s.String()})
	}
	return h.render(c, http.StatusOK, "labels", p)
}

// printing is what a print was asked for with.
type printing struct {
	sheet   labels.Sheet
	codes   []string
	options labels.Options
}

func printingOf(c echo.Context) (p printing, err error) {
	var ok bool
	if p.sheet, ok = labels.FindSheet(c.QueryParam("sheet")); !ok {
		return p, fault.Field("sheet", "Choose a sheet.")
	}
	p.codes = c.QueryParams()["codes"]
	p.options.CutMarks = c.QueryParam("cut") != ""
	for _, n := range []struct {
		field string
		into  *float64
	}{{"x", &p.options.OffsetX}, {"y", &p.options.OffsetY}} {
		if text := c.QueryParam(n.field); text != "" {
			if *n.into, err = strconv.ParseFloat(text, 64); err != nil {
				return p, fault.Field(n.field, "Give millimetres, such as 1.5 or -0.5.")
			}
		}
	}
	if text := c.QueryParam("start"); text != "" {
		if p.options.Start, err = strconv.Atoi(text); err != nil {
			return p, fault.Field("start", "Give the number of the first free label.")
		}
	}
	return p, nil
}

// printLabels answers the labels of the chosen sealers as a PDF.
func (h *house) printLabels(c echo.Context) error {
	p, err := printingOf(c)
	if err != nil {
		return err
	}
	list, err := h.desk.LabelsFor(caller(c), p.codes)
	if err != nil {
		return err
	}
	p.options.Made = h.desk.Now()
	var b bytes.Buffer
	if err := labels.PDF(&b, p.sheet, list, p.options); err != nil {
		return fault.Wrap(err, fault.Invalid, "These labels cannot be printed on this sheet: %s.", err)
	}
	return download(c, "application/pdf", "labels.pdf", b.Bytes())
}

// printStickers answers pages of pack stickers as a PDF.
func (h *house) printStickers(c echo.Context) error {
	p, err := printingOf(c)
	if err != nil {
		return err
	}
	numbers, err := h.desk.NumbersFor(caller(c), p.codes)
	if err != nil {
		return err
	}
	p.options.Made = h.desk.Now()
	var b bytes.Buffer
	if err := labels.Stickers(&b, p.sheet, numbers, p.options); err != nil {
		return fault.Wrap(err, fault.Invalid, "These stickers cannot be printed on this sheet: %s.", err)
	}
	return download(c, "application/pdf", "pack-stickers.pdf", b.Bytes())
}

// labelPicture answers one label as a picture for a label printer.
func (h *house) labelPicture(c echo.Context) error {
	list, err := h.desk.LabelsFor(caller(c), []string{c.Param("code")})
	if err != nil {
		return err
	}
	sheet, ok := labels.FindSheet(c.QueryParam("sheet"))
	if !ok {
		sheet, _ = labels.FindSheet("single-62x29")
	}
	dpi := 300
	if text := c.QueryParam("dpi"); text != "" {
		if dpi, err = strconv.Atoi(text); err != nil {
			return fault.Field("dpi", "Give the printer's dots per inch: 203, 300 or 600.")
		}
	}
	var b bytes.Buffer
	if err := labels.PNG(&b, sheet, list[0], dpi); err != nil {
		return fault.Wrap(err, fault.Invalid, "This label cannot be drawn: %s.", err)
	}
	return download(c, "image/png", "label-"+c.Param("code")+".png", b.Bytes())
}

func download(c echo.Context, kind, name string, b []byte) error {
	c.Response().Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	return c.Blob(http.StatusOK, kind, b)
}
