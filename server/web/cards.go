package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/static"
)

// cardsHeader marks the one answer whose content a worker may store as pages.
const cardsHeader = "X-Tide-Cards"

// cards are the pages that a phone keeps: those of every sealer, drawn by the
// same templates as ever but without a name, a problem or a photograph, those
// that show and mend what the phone keeps itself, and what stands for any other
// page without contact.
type cards struct {
	Build string     `json:"build"` // of the assets that the pages need
	AsOf  string     `json:"as_of"` // by the department's clock
	Pages []cardPage `json:"pages"`
}

type cardPage struct {
	URL  string `json:"url"`
	HTML string `json:"html"`
}

// cards answers what to keep. A worker that has it already, as nothing was
// recorded since and the hour is the same, is told so in a few bytes.
func (h *house) cards(c echo.Context) error {
	v, err := h.desk.Cards(device(c))
	if err != nil {
		return asJSON(c, err)
	}
	out := cards{Build: static.BuildHash(), AsOf: v.Clock(v.Now)}
	draw := func(at string, page func(echo.Context) error) {
		var html []byte
		if html, err = h.drawAside(at, page); err == nil {
			out.Pages = append(out.Pages, cardPage{at, string(html)})
		}
	}
	draw("/kept", h.keptPage)
	draw("/repair", h.repairPage)
	draw("/away", func(c echo.Context) error { return h.awayPage(c, v.Sealers) })
	for _, s := range v.Sealers {
		for _, p := range h.sealerCards(s) {
			if draw(p.at, p.page); err != nil {
				return err
			}
		}
	}
	c.Response().Header().Set(cardsHeader, "1")
	return c.JSON(http.StatusOK, out)
}

// asJSON refuses in JSON: only a worker asks.
func asJSON(c echo.Context, err error) error {
	f := asFault(err)
	return c.Blob(statusOf[f.Code], problemType, problemJSON(statusOf[f.Code], f))
}

type toDraw struct {
	at   string
	page func(echo.Context) error
}

// sealerCards are the pages of one sealer: for the pouch it stands for, and for
// each of its pouches if there are several.
func (h *house) sealerCards(v *desk.SealerView) (list []toDraw) {
	base := "/S/" + v.Code
	add := func(at string, v *desk.SealerView) {
		list = append(list, toDraw{base + at, func(c echo.Context) error { return h.drawSealer(c, v) }})
	}
	checks := func(query string, v *desk.SealerView) {
		list = append(list,
			toDraw{base + "/fail" + query, func(c echo.Context) error { return h.failPage(c, v, http.StatusOK, desk.CheckIn{}, nil) }},
			toDraw{base + "/not-valid" + query, func(c echo.Context) error { return h.notValidPage(c, v, http.StatusOK, desk.CheckIn{}, nil) }})
	}
	add("", v)
	if v.Standing.State == record.Retired {
		return list
	}
	if v.Pouch != nil {
		checks("", v)
	}
	if len(v.Pouches) > 1 {
		for _, here := range v.Pouches {
			query := "?pouch=" + here.ID.String()
			add(query, v.For(here.ID))
			checks(query, v.For(here.ID))
		}
	}
	return append(list,
		toDraw{base + "/bad-seal", func(c echo.Context) error { return h.badSealPage(c, v, http.StatusOK, desk.BadSealIn{}, nil) }},
		toDraw{base + "/more", func(c echo.Context) error { return h.morePage(c, http.StatusOK, v, nil) }})
}

// drawAside draws a page that nobody asked for over the wire.
func (h *house) drawAside(at string, page func(echo.Context) error) ([]byte, error) {
	u, err := url.Parse(at)
	if err != nil {
		return nil, fault.Wrap(err, fault.Internal, "A page to keep has no address.")
	}
	w := &memory{header: http.Header{}}
	r := &http.Request{Method: http.MethodGet, URL: u, Header: http.Header{}}
	err = page(aside.NewContext(r, w))
	return w.Bytes(), err
}

// memory is where a page is drawn that is not sent by itself.
type memory struct {
	bytes.Buffer
	header http.Header
}

func (m *memory) Header() http.Header { return m.header }
func (m *memory) WriteHeader(int)     {}

// worker serves the script that works without contact. Its address never
// changes, its content with every build.
func (h *house) worker(c echo.Context) error {
	names := make([]string, 0, len(static.Names()))
	for _, name := range static.Names() {
		names = append(names, static.URL(name))
	}
	list, err := json.Marshal(names)
	if err != nil {
		return fault.Wrap(err, fault.Internal, "The worker could not be written.")
	}
	c.Response().Header().Set("Cache-Control", "no-cache")
	head := fmt.Sprintf("const build = %q;\nconst assets = %s;\nconst policy = %q;\n", static.BuildHash(), list, policy)
	return c.Blob(http.StatusOK, "text/javascript; charset=utf-8", append([]byte(head), static.Worker()...))
}
