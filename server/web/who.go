package web

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// Names of cookies; over TLS they carry the __Host- prefix.
const (
	sessionCookie = "tide-session"
	deviceCookie  = "tide-device"
)

// Headers by which programs say the same.
const (
	sessionScheme = "Bearer " // in Authorization
	deviceHeader  = "X-Tide-Device"
)

// deviceLife is how long a browser keeps the token of its device.
const deviceLife = 400 * 24 * time.Hour

func (h *house) cookieName(name string) string {
	if h.secure {
		return "__Host-" + name
	}
	return name
}

// who finds out who is asking: by a one-time link, by headers, or else by cookies.
// Below a link's address nobody is more than its bearer.
func (h *house) who(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if strings.Contains(c.Path(), "/seen/:token") {
			bearer, err := h.desk.ByLink(c.Param("token"))
			if fault.Is(err, fault.Gone) && !wantsJSON(c.Request()) {
				return h.linkOver(c)
			}
			c.Set("caller", bearer)
			if err != nil {
				return err
			}
			return next(c)
		}
		header := c.Request().Header
		session, ok := strings.CutPrefix(header.Get(echo.HeaderAuthorization), sessionScheme)
		if !ok {
			session = h.cookie(c, sessionCookie)
		}
		caller, known := h.desk.Who(session, h.deviceToken(c))
		c.Set("caller", caller)
		c.Set("device", known)
		return next(c)
	}
}

// deviceToken is the token of the device that asks, a revoked one too.
func (h *house) deviceToken(c echo.Context) string {
	return cmp.Or(c.Request().Header.Get(deviceHeader), h.cookie(c, deviceCookie), h.demoDevice)
}

func caller(c echo.Context) desk.Caller {
	who, _ := c.Get("caller").(desk.Caller)
	return who
}

func (h *house) cookie(c echo.Context, name string) string {
	if k, err := c.Cookie(h.cookieName(name)); err == nil {
		return k.Value
	}
	return ""
}

// setCookie stores a token in the browser; an empty one removes it. A zero life
// ends with the browser.
func (h *house) setCookie(c echo.Context, name, value string, life time.Duration) {
	k := &http.Cookie{Name: h.cookieName(name), Value: value, Path: "/", HttpOnly: true, Secure: h.secure,
		SameSite: http.SameSiteLaxMode, MaxAge: int(life.Seconds())}
	if value == "" {
		k.MaxAge = -1
	}
	c.SetCookie(k)
}

// localPath is next if it is a path of this server, else "/".
func localPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") ||
		strings.ContainsAny(next, "\\\r\n\t") {
		return "/"
	}
	return next
}

// device is the device that asks; its ID is zero if nobody let it in.
func device(c echo.Context) desk.Device {
	d, _ := c.Get("device").(desk.Device)
	return d
}
