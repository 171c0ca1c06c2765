package web

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// problemPage is a problem: one next action, what is known, what happened.
type problemPage struct {
	Page
	hidden
	V        *desk.ProblemView
	Path     string
	Summary  *Summary
	Next     nextAction
	More     []Link // what else can be done
	Callouts []Callout
	Again    []row
	Mends    []row // what came after each repair
	Facts    []fact
	Endings  []fact
	Events   []event
	Extra    hidden // of the form for a note and a photograph
	CanAdd   bool
	CanNote  bool
	Note     string
	Err      map[string]string
}

func (h *house) askProblem(c echo.Context) (*desk.ProblemView, error) {
	id, err := problemID(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Problem(caller(c), id)
}

func problemID(c echo.Context) (record.ID, error) {
	id, err := record.ParseID(c.Param("problem"))
	if err != nil {
		return id, fault.New(fault.Unknown, "There is no such problem here.")
	}
	return id, nil
}

func problemPath(id record.ID) string { return "/problems/" + id.String() }

func (h *house) drawProblem(c echo.Context, v *desk.ProblemView) error {
	return h.problemPage(c, v, http.StatusOK, nil)
}

// problemAgain draws the problem as it stands now, after a step that was not
// taken.
func (h *house) problemAgain(c echo.Context, err error) error {
	v, viewErr := h.askProblem(c)
	if viewErr != nil {
		return err
	}
	return h.problemPage(c, v, status(err), err)
}

func (h *house) problemPage(c echo.Context, v *desk.ProblemView, code int, err error) error {
	p := problemPage{Page: h.page(c, &v.Frame, "Problem "+itoa(v.Ref.Number)), V: v,
		hidden: formOf(&v.Frame), Path: problemPath(v.Ref.ID), Summary: summaryOf(err),
		Extra: formFor(&v.Frame, desk.From{}, "note"), Note: c.FormValue("note"),
		Err: fieldErrors(err)}
	p.Sub, p.Back = problemSub(v), &Link{Href: "/problems", Text: "All problems"}
	p.Band = problemBand(v)
	p.Fresh = freshOf(&v.Frame, p.Path+"/fresh", problemVersion(v))
	p.Next, p.More = nextOf(v), moreOf(v)
	p.Callouts, p.Again = problemCallouts(v), againRows(v)
	p.Mends = heldRows(&v.Frame, v.Mends)
	p.Facts, p.Endings = problemFacts(v), endingFacts(v)
	p.Events = timeline(&v.Frame, v.Lines)
	p.CanAdd, p.CanNote = v.Can("AddPhotograph"), v.Can("AddNote") && v.Problem.Closed == 0
	return h.render(c, code, "problem", p)
}

func problemSub(v *desk.ProblemView) string {
	if v.Facts.Number == "" {
		return whatLine(&v.Ref)
	}
	return "sealer " + v.Facts.Number + " · " + whatLine(&v.Ref)
}

// whatLine is a problem in short: "failed check: channel, left, 3 cm from the
// left".
func whatLine(p *desk.ProblemRef) string {
	at := faultAt(p.Kind, p.Place, p.AtCM)
	switch {
	case p.What == rules.WhatUnready:
		return unreadyLine(p)
	case p.What == rules.WhatNotValid && at == "":
		return "test not valid twice"
	case p.What == rules.WhatCalibration:
		return "a calibration found the window missed"
	case p.What == rules.WhatMakers:
		return listed("maker's seal", at)
	case p.What == rules.WhatFailedCheck:
		return listed("failed check", at)
	}
	return at
}

// unreadyLine tells why packs are on hold that were sealed while the sealer was
// not ready. Nobody is blamed.
func unreadyLine(p *desk.ProblemRef) string {
	return listed(unreadyWords[p.Why], with("setting", p.Set))
}

var unreadyWords = map[string]string{
	desk.UnreadyChangeover: "sealed during a changeover",
	desk.UnreadyOut:        "sealed while out of service",
	desk.UnreadyUnchecked:  "sealed without a check",
	"":                     "sealed while not ready",
}

// problemBand is where the sealer stands, as long as the problem is about that.
func problemBand(v *desk.ProblemView) *Band {
	if v.SealerRow == nil || !holdsSealer(v) {
		return nil
	}
	b := bandOf(&v.Frame, v.SealerRow.Standing)
	b.At = gapAt(&v.Ref, v.Facts.WidthCM)
	b.Note = listed(b.Note, "since "+v.Clock(v.SealerRow.Since))
	return b
}

// holdsSealer reports whether the problem is what keeps the sealer from sealing.
func holdsSealer(v *desk.ProblemView) bool {
	return v.SealerRow != nil && v.SealerRow.Standing.Problem == v.Ref.ID
}

// sealerOut reports whether the sealer waits for clinical engineering or for a
// fix, not yet for checks.
func sealerOut(v *desk.ProblemView) bool {
	return holdsSealer(v) && (v.SealerRow.Standing.State == record.OutOfService ||
		v.SealerRow.Standing.State == record.WithEngineering)
}

// postNote adds a note, a photograph, or both. The photograph comes after the
// note and never holds it up.
func (h *house) postNote(c echo.Context) error {
	var in desk.ProblemIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	photo, err := photoBytes(c)
	if err != nil || len(photo) == 0 || in.Note != "" {
		if _, err := h.desk.AddNote(c.Request().Context(), caller(c), in); err != nil {
			return h.problemAgain(c, err)
		}
	}
	to := problemPath(in.Problem) + "?said=saved"
	if note := h.photoOf(c, in.Problem, in.ID.Derive("photograph"), in.Seen); note != "" {
		to += "&photo=" + note
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// problemVersion changes with everything that the page of a problem shows.
func problemVersion(v *desk.ProblemView) string {
	standing := ""
	if v.SealerRow != nil {
		st := v.SealerRow.Standing
		standing = fmt.Sprint(st.State, st.Need, st.Good, st.From)
	}
	newest := record.None
	if len(v.Lines) > 0 {
		newest = v.Lines[0].Seq
	}
	return fmt.Sprint(standing, newest, len(v.Problem.Photos), v.HoldList.Total, len(v.Instead))
}

func (h *house) freshProblem(c echo.Context) error {
	v, err := h.askProblem(c)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]string{"version": problemVersion(v),
		"at": v.Clock(v.Now)})
}
