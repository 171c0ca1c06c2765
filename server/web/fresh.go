package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

func itoa(n int) string { return strconv.Itoa(n) }

func freshOf(f *desk.Frame, url, version string) *Fresh {
	return &Fresh{URL: url, Version: version, At: f.Clock(f.Now)}
}

// sealerVersion changes with everything that the page of a sealer shows.
func sealerVersion(v *desk.SealerView) string {
	approval := int64(-1)
	if v.Pouch != nil && v.Pouch.Setting != nil {
		approval = int64(v.Pouch.Setting.Approval)
	}
	seen := ""
	if v.Problem != nil {
		seen = fmt.Sprint(v.Problem.ID, v.Problem.Seen, v.Problem.Stage, v.Problem.Packs, v.Problem.Tagged)
	}
	return fmt.Sprint(v.Standing.State, v.Standing.Need, v.Standing.Good, v.Standing.From, approval, seen, len(v.Instead))
}

// freshSealer answers whether a sealer page is still true.
func (h *house) freshSealer(c echo.Context) error {
	v, err := h.askSealer(c)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]string{"version": sealerVersion(v), "at": v.Clock(v.Now)})
}
