package web

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/fault"
)

// policy allows what comes from here and nothing inline.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
	"form-action 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; frame-ancestors 'none'"

// maxForm is the most bytes of a form, maxUpload of one with a photograph, maxList
// of one with a list of packs: a little more than such a list may have.
const (
	maxForm   = 256 << 10
	maxUpload = 11 << 20
	maxList   = 21 << 20
)

// request numbers a request, keeps a panic from ending the server and limits
// what a form may weigh.
func (h *house) request(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		id := make([]byte, 8)
		_, _ = rand.Read(id) // never fails
		c.Response().Header().Set(echo.HeaderXRequestID, hex.EncodeToString(id))
		limit := int64(maxForm)
		if strings.HasPrefix(c.Request().Header.Get("Content-Type"), "multipart/form-data") ||
			strings.HasPrefix(c.Request().Header.Get("Content-Type"), "image/") {
			limit = maxUpload
		}
		if c.Path() == packFiles || c.Path() == apiRoot+packFiles {
			limit = maxList
		}
		c.Request().Body = http.MaxBytesReader(c.Response(), c.Request().Body, limit)
		defer func() {
			if p := recover(); p != nil {
				err = fault.Wrap(fmt.Errorf("panic: %v\n%s", p, debug.Stack()), fault.Internal, "Something went wrong on our side. What was stored is safe.")
			}
		}()
		return next(c)
	}
}

// host refuses other names than our own: a page elsewhere must not reach this
// server through a name that it made point here.
func (h *house) host(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if path := c.Request().URL.Path; path == "/livez" || path == "/readyz" || path == "/metrics" {
			return next(c)
		}
		if !strings.EqualFold(c.Request().Host, h.public.Host) {
			return fault.New(fault.Misdirected, "This server is called %s.", h.public.Host)
		}
		return next(c)
	}
}

// headers are the same on every answer. Assets say for themselves how they may be
// used, in a line or two: there are many of them on a first scan.
func (h *house) headers(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		header := c.Response().Header()
		if strings.HasPrefix(c.Request().URL.Path, "/static/") {
			header.Set("Cross-Origin-Resource-Policy", "same-origin")
			header.Del(echo.HeaderXRequestID)
			return next(c)
		}
		header.Set("Content-Security-Policy", policy)
		header.Set("X-Content-Type-Options", "nosniff")
		header.Set("Referrer-Policy", "same-origin")
		header.Set("Cross-Origin-Resource-Policy", "same-origin")
		header.Set("Cross-Origin-Opener-Policy", "same-origin")
		header.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
		header.Set("Cache-Control", "no-store")
		if h.secure {
			header.Set("Strict-Transport-Security", fmt.Sprintf("max-age=%d", int((365*24*time.Hour).Seconds())))
		}
		return next(c)
	}
}
