package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// problemFacts tell what, where, when and who; what nobody knows is left out.
func problemFacts(v *desk.ProblemView) []fact {
	p := &v.Problem
	facts := []fact{
		{Term: "What", Text: capital(whatLine(&v.Ref))},
		{Term: "Pouch", Text: listed(v.PouchName, with("lot", p.Lot))},
		{Term: "Found", Text: listed(foundPlaces[p.Found], v.Clock(p.OpenedAt), v.Ref.By)},
		{Term: "Sealed", Text: spanText(&v.Frame, p.Sealed)},
		{Term: "Sealer", Text: sealerLine(v.Facts), Href: sealerHref(v.SealerRow)},
		{Term: "Approved setting", Text: settingFact(v.Setting)},
		{Term: "Tagged", Text: v.Clock(p.Tagged)},
		{Term: v.EngineeringWord(), Text: calledText(v)},
		{Term: "Taken by", Text: listed(v.Taken, v.Clock(v.TakenAt))},
		{Term: "Work order", Text: p.Order},
		{Term: "Vendor", Text: listed(p.Vendor, with("expected", dateText(p.Expected)))},
		{Term: "Loaner", Text: p.Loaner},
		{Term: "Found by them", Text: listed(findingWords[p.Finding], actionWords[p.Action])},
		{Term: "Comes from", Text: blameWords[p.Blame]},
		{Term: "Packs", Text: packsFact(v), Href: problemPath(v.Ref.ID) + "/hold"},
	}
	return known(facts)
}

func known(facts []fact) (list []fact) {
	for _, f := range facts {
		if f.Text != "" {
			list = append(list, f)
		}
	}
	return list
}

func capital(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

var foundPlaces = map[string]string{
	record.AtBench: "at the bench", record.AtLoad: "in a load", record.AtStore: "in store",
	record.AtTheatre: "in the operating room",
}

func spanText(f *desk.Frame, s *record.Span) string {
	switch {
	case s == nil:
		return ""
	case s.From == s.To:
		return f.Clock(s.From)
	}
	return f.Clock(s.From) + " to " + f.Clock(s.To)
}

func sealerLine(s record.SealerFacts) string {
	return listed(s.Number, typeWords[s.Type], with("asset", s.Asset), s.Place)
}

func sealerHref(s *desk.SealerRow) string {
	if s == nil {
		return ""
	}
	return "/S/" + s.Code
}

func settingFact(s *desk.Setting) string {
	if s == nil {
		return ""
	}
	return listed(settingText(s.Value, s.Unit), s.Hold, with("speed", s.Speed))
}

func packsFact(v *desk.ProblemView) string {
	hold := &v.HoldList
	switch {
	case v.Problem.SettledAt != 0:
		return "settled"
	case hold.Total == 0:
		return "hold list: none logged"
	}
	return "hold at least " + itoa(hold.Total) + ", " + itoa(hold.Left) + " left to settle"
}

// engineeringText tells how far clinical engineering is; "" where it has no part.
func engineeringText(f *desk.Frame, p *desk.ProblemRef) string {
	switch {
	case p.What == rules.WhatUnready || p.What == rules.WhatMakers || p.What == rules.WhatCalibration:
		return ""
	case p.Stage == rules.StageHandedBack:
		return "handed back"
	case p.Stage == rules.StageFirstLine:
		return "informed; fixed here"
	case p.Stage == record.Vendor:
		return "vendor called"
	case p.Stage == record.AtWork:
		return "at work"
	case p.Seen != "":
		return "seen by " + p.Seen + ", " + f.Clock(p.SeenAt)
	}
	return "sent " + f.Clock(p.At) + ", not seen yet"
}

// endingFacts are the three endings, each apart: a sealer may be back long before
// the last pack is found.
func endingFacts(v *desk.ProblemView) []fact {
	var list []fact
	for _, e := range v.Endings {
		if e.What == "returned" && !v.Problem.NeedsEngineering() {
			continue // no sealer was out
		}
		text := "not yet"
		if e.At != 0 {
			text = listed(v.Clock(e.At), e.By)
		}
		list = append(list, fact{Term: endingWords[e.What], Text: text})
	}
	return list
}

var endingWords = map[string]string{
	"returned": "Sealer returned", "settled": "Packs settled", "closed": "Problem closed",
}

// problemCallouts are what to know beside the next step.
func problemCallouts(v *desk.ProblemView) (list []Callout) {
	if sealerOut(v) {
		list = append(list, insteadOf(v))
		if v.Ref.Seen == "" && v.Problem.Stage == "" {
			list = append(list, sentCallout(v))
		}
	}
	list = append(list, passesCallout(v)...)
	if v.Problem.What == rules.WhatMakers {
		list = append(list, Callout{Tone: "out", Lead: "Lot " + v.Problem.Lot + " is on hold.",
			Text: "Every sealer that uses " + v.PouchName + " says so.",
			Href: "/pouches/" + v.Problem.Pouch.String(), Link: "The pouch and its lots"})
	}
	if v.Problem.OnlyCE && sealerOut(v) {
		lead := "A fix was tried and the fault came back."
		switch {
		case v.FixedAt != 0:
			lead = "A first-line fix was the last repair here, " + dated(&v.Frame, v.FixedAt) + "."
		case v.Watched != nil:
			lead = "No fault was found in problem " + itoa(v.Watched.Number) + ", and here is one."
		}
		list = append(list, Callout{Tone: "due", Lead: lead,
			Text: "Only " + midSentence(v.EngineeringWord()) + " can hand the sealer back now."})
	}
	return list
}

// insteadOf names ready sealers, never their settings: those are on their labels.
func insteadOf(v *desk.ProblemView) Callout {
	if len(v.Instead) == 0 {
		text := v.Dept.Fallback
		if text == "" {
			text = "Ask the lead what to do."
		}
		return Callout{Tone: "due", Lead: "No other sealer is ready.", Text: text, Href: "/",
			Link: "Which sealer for which pouch"}
	}
	names := strings.ReplaceAll(refs(v.Instead), ", ", " or ")
	return Callout{Tone: "ready", Lead: "Use sealer " + names + " instead.", Text: "Scan its label."}
}

// sentCallout tells who knows by mail. An automatic reply is not "seen".
func sentCallout(v *desk.ProblemView) Callout {
	word := midSentence(v.EngineeringWord())
	if v.Calls.Route {
		return callsCallout(v)
	}
	if len(v.Mailed) == 0 {
		return Callout{Tone: "due", Lead: "Not seen yet.",
			Text: "Nobody of " + word + " has a mail address here: call them."}
	}
	return Callout{Tone: "due", Lead: "Not seen yet.",
		Text: "In the queue and mailed to " + strings.Join(v.Mailed, ", ") + "."}
}

// callsCallout tells how far the route has been gone and who comes next.
func callsCallout(v *desk.ProblemView) Callout {
	c, calls := Callout{Tone: "due", Lead: "Not seen yet."}, &v.Calls
	var told []string
	for _, t := range calls.Told {
		told = append(told, t.Name+" "+v.Clock(t.At))
	}
	if len(told) > 0 {
		c.Text = "Told: " + strings.Join(told, ", ") + ". "
	}
	switch {
	case calls.Over:
		c.Tone, c.Text = "out", c.Text+"Everybody on the route was told: call "+midSentence(v.EngineeringWord())+"."
	case calls.Next != "" && calls.Due <= v.Now:
		c.Text += calls.Next + " is being told now."
	case calls.Next != "":
		c.Text += calls.Next + " will be told " + v.Clock(calls.Due) + notUrgent(calls) + "."
	}
	if calls.Urgent {
		c.Lead = "Urgent, not seen yet."
	}
	return c
}

// calledText tells how far clinical engineering is; of a route on which nobody was
// told yet it does not say "sent".
func calledText(v *desk.ProblemView) string {
	if v.Calls.Route && v.Calls.Waits && len(v.Calls.Told) == 0 {
		return "not told yet"
	}
	return engineeringText(&v.Frame, &v.Ref)
}

// notUrgent says why somebody is told later.
func notUrgent(c *desk.Calls) string {
	if c.Urgent || len(c.Told) > 0 {
		return ""
	}
	return ": other sealers can seal these pouches until then"
}

func againRows(v *desk.ProblemView) (rows []row) {
	for _, o := range v.Again {
		rows = append(rows, row{Text: "Problem " + itoa(o.Number), Href: problemPath(o.ID),
			Note: listed(whatLine(&o), v.Clock(o.At))})
	}
	return rows
}
