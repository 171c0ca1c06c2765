package web

import (
	"encoding/hex"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

// Every answer to somebody known shows what the ledger is, and every request
// brings back what was seen last: browsers by a cookie, programs by the same
// header. So each phone tells a server whose folder was set back to an older one.
const (
	sightCookie = "tide-sight"
	sightHeader = "Tidemark-Sight"
	sizeHeader  = "Tidemark-Size"
	rootHeader  = "Tidemark-Root"
)

// witness hears what the request has seen and shows what there is to see.
func (h *house) witness(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if path := c.Request().URL.Path; path == "/livez" || path == "/readyz" || strings.HasPrefix(path, "/static/") {
			return next(c)
		}
		brought := c.Request().Header.Get(sightHeader)
		if brought == "" {
			brought = h.cookie(c, sightCookie)
		}
		if brought != "" {
			h.desk.Witness(brought)
		}
		c.Response().Before(func() { h.showSight(c, brought) })
		return next(c)
	}
}

// alarms are what stands on every page until somebody has seen to it.
func (h *house) alarms() (list []Message) {
	for _, text := range h.desk.Alarms() {
		list = append(list, Message{Tone: "out", Text: text})
	}
	return list
}

// showSight writes what the ledger is by now into the head of an answer.
func (h *house) showSight(c echo.Context, brought string) {
	if caller(c) == (desk.Caller{}) && device(c) == (desk.Device{}) {
		return // a stranger needs no count of our records
	}
	s, err := h.desk.Sight()
	if err != nil {
		h.log.Error("show the ledger's size and root", "error", err)
		return
	}
	header := c.Response().Header()
	header.Set(sizeHeader, strconv.FormatInt(s.Size, 10))
	header.Set(rootHeader, hex.EncodeToString(s.Root[:]))
	header.Set(sightHeader, s.Token)
	if s.Token != brought && len(h.desk.Alarms()) == 0 {
		h.setCookie(c, sightCookie, s.Token, deviceLife)
	}
}
