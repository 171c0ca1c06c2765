package web

import (
	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// bulkNext leads through the assessment of a calibration's hold in bulk.
func bulkNext(v *desk.ProblemView, path string) (nextAction, bool) {
	if v.Problem.What != rules.WhatCalibration || v.Problem.SettledAt != 0 {
		return nextAction{}, false
	}
	a := v.Problem.Assessed
	switch {
	case a != nil && v.Person != nil && a.By != v.Person.ID && v.Can("ConfirmBulk"):
		return nextAction{Text: "A first name stands under an end for these packs. A second person reads it and confirms.",
			Actions: []Action{{Text: "Read and confirm", Tone: "main", Big: true, Href: path + "/confirm"}}}, true
	case a != nil:
		return nextAction{Text: "A first name stands under an end for these packs. Another person has to confirm it."}, true
	case v.Can("AssessInBulk"):
		return nextAction{Text: "Packs of the whole time since the last good calibration: settle them one by one, " +
			"or assess them in bulk, with two names.",
			Actions: []Action{{Text: "Assess in bulk", Tone: "main", Big: true, Href: path + "/assess"},
				{Text: "Hold list", Note: leftNote(&v.HoldList), Href: path + "/hold"}}}, true
	}
	return nextAction{}, false
}

// passesCallout shows the good checks of the time as what they are.
func passesCallout(v *desk.ProblemView) []Callout {
	if v.Problem.What != rules.WhatCalibration {
		return nil
	}
	n := v.HoldList.Passes
	return []Callout{{Lead: countText(n, "good check") + " in this time.",
		Text: "They tell of ways through the seal. A dye test sees no overheating, so they shorten nothing here.",
		Href: "/S/" + sealerCode(v) + "/calibrations/" + seqText(v.Calibration), Link: "The calibration"}}
}

func sealerCode(v *desk.ProblemView) string {
	if v.SealerRow == nil {
		return ""
	}
	return v.SealerRow.Code
}

// assessPage asks the first person what becomes of all packs.
func (h *house) assessPage(c echo.Context, v *desk.ProblemView, err error) error {
	p := h.stepPage(c, v, "Assess in bulk", "/assess", err)
	p.Text = "At least " + packsText(v.HoldList.Left) + " without an end, " + windowText(v, v.HoldList.Counts, "good calibration") +
		". What was found at the sealing face and how surely is on the calibration's page. The IFU, local policy and whoever answers " +
		"for patients decide; this page records it."
	p.Name, p.Legend = "end", "What becomes of all of them?"
	p.Choices = chosen([]choice{{Value: "repackaged", Text: "Repackaged"}, {Value: "discarded", Text: "Discarded"},
		{Value: "used", Text: "Used already"}, {Value: "released", Text: "Released"}, {Value: "not-found", Text: "Not found"}}, c.FormValue("end"))
	p.Reason, p.Must = true, true
	p.Actions = []Action{{Text: "My name is the first", Note: "a second person confirms", Tone: "main", Big: true}}
	return h.render(c, code(err), "step", p)
}

// confirmPage shows what the first person wrote to the second.
func (h *house) confirmPage(c echo.Context, v *desk.ProblemView, err error) error {
	p := confirmPage{stepPage: h.stepPage(c, v, "Confirm the assessment", "/confirm", err)}
	if a := v.Problem.Assessed; a != nil {
		p.Assessed = seqText(a.Seq)
		p.Text = "At least " + packsText(a.Packs) + ": " + endWords[a.End] + "."
		p.Callouts = []Callout{{Lead: v.AssessedBy + ", " + v.Clock(a.At) + ":", Text: a.Reason}}
		p.Actions = []Action{{Text: "I confirm it", Note: "the second name", Tone: "main", Big: true}}
	} else {
		p.Assessed, p.Text = seqText(record.None), "No assessment waits for a second name."
	}
	return h.render(c, code(err), "confirm", p)
}

type confirmPage struct {
	stepPage
	Assessed string
}
