package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/static"
)

// routes is the table of contents. A line binds an address, its twin below
// /api/v1 and a use case of the desk.
func (h *house) routes(e *router) {
	e.GET("/livez", alive)
	e.GET("/readyz", h.readyz)
	e.GET("/static/*", echo.WrapHandler(static.Handler()))

	// Who is here
	e.GET("/sign-in", h.signInForm)
	e.POST("/sign-in", h.signIn)
	e.POST("/sign-out", h.signOut)
	e.GET("/pin", h.pinForm)
	e.POST("/pin", h.choosePIN)
	e.GET("/device", h.deviceForm)
	e.POST("/device", h.enrol)
	e.GET("/begin", h.beginForm)
	e.POST("/begin", h.begin)
	h.programs(e)

	h.settingUp(e)

	// Which sealer for which pouch
	view(e, "/", "/board", h.askBoard, h.drawBoard)
	e.GET("/board/part", h.boardPart)
	e.GET("/events", h.events)
	e.GET("/S", h.lookUp)

	// A sealer
	view(e, "/S/:code", "/sealers/:code", h.askSealer, h.drawSealer)
	e.GET("/S/:code/fresh", h.freshSealer)
	e.GET("/S/:code/fail", h.sealerForm(h.failPage))
	e.GET("/S/:code/not-valid", h.sealerForm(h.notValidPage))
	both(h, e, "/S/:code/checks", "/sealers/:code/checks", h.desk.Check, afterCheck, h.checkAgain)

	// A bad seal
	e.GET("/S/:code/bad-seal", h.badSealForm)
	e.POST("/S/:code/bad-seal", h.postBadSeal)
	command(e, "/sealers/:code/bad-seals", h.desk.ReportBadSeal)
	e.GET("/photographs/:id", h.photograph)

	// What a surveyor asks
	view(e, "/records", "/records", h.askRecords, h.drawRecords)
}

// settingUp is how a department comes to its first Ready, and what it changes
// later.
func (h *house) settingUp(e *router) {
	view(e, "/set-up", "/set-up", h.askSetUp, h.drawSetUp)
	view(e, "/set-up/department", "/department", h.askDepartment, h.drawDepartment)
	both(h, e, "/set-up/department", "/department", h.desk.ChangeDepartment,
		afterSetUp[desk.DepartmentIn], h.departmentAgain)
	view(e, "/set-up/plans/:type", "/plans/:type", h.askPlan, h.drawPlan)
	both(h, e, "/set-up/plans/:type", "/plans/:type", h.desk.SetPlan, afterSetUp[desk.PlanIn], h.planAgain)

	view(e, "/pouches", "/pouches", h.askPouches, h.drawPouches)
	e.GET("/pouches/new", h.newPouch)
	both(h, e, "/pouches", "/pouches", h.desk.AddPouch, afterPouch, h.newPouchAgain)
	view(e, "/pouches/:pouch", "/pouches/:pouch", h.askPouch, h.drawPouch)
	e.GET("/pouches/:pouch/revise", h.revisePouch)
	both(h, e, "/pouches/:pouch", "/pouches/:pouch", h.desk.RevisePouch, afterPouch, h.reviseAgain)
	both(h, e, "/pouches/:pouch/releases", "/pouches/:pouch/releases", h.desk.ReleaseLot, afterRelease, h.releaseAgain)

	view(e, "/sealers", "/sealers", h.askSealers, h.drawSealers)
	e.GET("/sealers/new", h.newSealer)
	both(h, e, "/sealers", "/sealers", h.desk.AddSealer, afterSealer, h.newSealerAgain)
	view(e, "/S/:code/facts", "/sealers/:code/facts", h.askFacts, h.drawFacts)
	e.GET("/S/:code/change", h.changeSealer)
	both(h, e, "/S/:code/facts", "/sealers/:code/facts", h.desk.ChangeSealer, afterFacts[desk.SealerIn], h.changeSealerAgain)
	e.GET("/S/:code/move", h.farewell)
	both(h, e, "/S/:code/move", "/sealers/:code/move", h.desk.MoveSealer, afterFacts[desk.MoveIn], h.moveAgain)
	both(h, e, "/S/:code/retire", "/sealers/:code/retire", h.desk.RetireSealer, afterFacts[desk.RetireIn], h.retireAgain)

	e.GET("/S/:code/approve", h.approve)
	both(h, e, "/S/:code/approve", "/sealers/:code/approvals", h.desk.Approve, afterApproval, h.approveAgain)
	view(e, "/S/:code/approvals", "", h.askFacts, h.drawApprovals)
	e.GET("/S/:code/approvals/end", h.endApproval)
	both(h, e, "/S/:code/approvals/end", "/sealers/:code/approvals/end", h.desk.EndApproval, afterEnd, h.endAgain)
}

func alive(c echo.Context) error { return c.String(http.StatusOK, "alive\n") }

func (h *house) readyz(c echo.Context) error {
	if h.ready != nil {
		if err := h.ready(); err != nil {
			return c.String(http.StatusServiceUnavailable, err.Error()+"\n")
		}
	}
	return c.String(http.StatusOK, "ready\n")
}

// lookUp is the scan box without script.
func (h *house) lookUp(c echo.Context) error {
	code, err := labels.ParseCode(c.QueryParam("code"))
	if err != nil {
		return c.Redirect(http.StatusSeeOther, "/S/"+escapePath(c.QueryParam("code")))
	}
	return c.Redirect(http.StatusSeeOther, "/S/"+string(code))
}

func escapePath(s string) string {
	return strings.NewReplacer("/", "", "?", "", "#", "", "\\", "").Replace(strings.ToUpper(s))
}
