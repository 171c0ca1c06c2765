package web

import (
	"net/http"

	"github.com/labstack/echo/v4"
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
