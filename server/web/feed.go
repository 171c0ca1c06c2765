package web

import (
	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// askFeed gives other programs what was recorded, a page at a time.
func (h *house) askFeed(c echo.Context) (*desk.FeedView, error) {
	var in desk.FeedIn
	if err := (&echo.DefaultBinder{}).BindQueryParams(c, &in); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "Give after and limit as numbers.")
	}
	return h.desk.Feed(caller(c), in)
}
