package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

type lettersPage struct {
	Page
	Letters []letterRow
}

// letterRow is a mail, and the address of the link in it.
type letterRow struct {
	Letter
	Link string
}

// lettersView is what a demo would have mailed, the newest first.
type lettersView struct {
	desk.Frame
	Letters []Letter `json:"letters"`
}

// askLetters shows mails only where they are kept instead of sent: in a demo
// without a mail server.
func (h *house) askLetters(c echo.Context) (*lettersView, error) {
	f, err := h.desk.Blank(caller(c))
	if err != nil {
		return nil, err
	}
	if h.letters == nil {
		return nil, fault.New(fault.Unknown, "Mails are sent here, not kept.")
	}
	return &lettersView{Frame: f, Letters: h.letters.Letters()}, nil
}

func (h *house) drawLetters(c echo.Context, v *lettersView) error {
	p := lettersPage{Page: h.page(c, &v.Frame, "Mails")}
	p.Sub = "kept instead of sent"
	for _, l := range v.Letters {
		p.Letters = append(p.Letters, letterRow{Letter: l, Link: h.linkIn(l.Text)})
	}
	return h.render(c, http.StatusOK, "letters", p)
}

// linkIn finds the one-time link in a mail, as a path of this server.
func (h *house) linkIn(text string) string {
	own := h.public.Scheme + "://" + h.public.Host
	for line := range strings.Lines(text) {
		if path, ok := strings.CutPrefix(strings.TrimSpace(line), own); ok &&
			strings.HasPrefix(path, "/seen/") {
			return path
		}
	}
	return ""
}
