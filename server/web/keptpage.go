package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// keptPage shows what this phone keeps. The list is the phone's own: the page is
// the same for everybody, names nobody, and may be kept.
func (h *house) keptPage(c echo.Context) error {
	p := h.page(c, nil, "Kept on this phone")
	p.Back = &Link{Href: "/", Text: "Which sealer for which pouch"}
	return h.render(c, http.StatusOK, "kept", struct{ Page }{p})
}

// repairPage sets the worker of this phone up anew; what is kept stays.
func (h *house) repairPage(c echo.Context) error {
	p := h.page(c, nil, "Repair this phone")
	p.Back = &Link{Href: "/kept", Text: "Kept on this phone"}
	return h.render(c, http.StatusOK, "repair", struct{ Page }{p})
}

// awayPage stands for a page that needs contact while there is none. It names the
// sealers and says nothing of how they stand: their own pages know how much of that
// is still sure.
func (h *house) awayPage(c echo.Context, sealers []*desk.SealerView) error {
	p := struct {
		Page
		Rows []row
	}{Page: h.page(c, nil, "No contact")}
	for _, s := range sealers {
		if s.Standing.State != record.Retired {
			p.Rows = append(p.Rows, row{Text: "Sealer " + s.Number, Note: listed(typeWords[s.Type], s.SealerFacts.Place), Href: "/S/" + s.Code})
		}
	}
	return h.render(c, http.StatusOK, "away", p)
}
