package web

import (
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// nextAction is the one thing that this person should do now: a form with a
// button, or a link that looks like one.
type nextAction struct {
	Text    string
	To      string // address of the form, "" if the action is a link
	Choices []choice
	Legend  string
	Order   bool // ask for a work order
	Actions []Action
}

// nextOf settles what this person is to do next. What keeps somebody from
// sealing on comes first, then what others wait for, packs, and the end.
func nextOf(v *desk.ProblemView) nextAction {
	path := problemPath(v.Ref.ID)
	engineer := v.Person.Has(record.Engineering)
	switch {
	case v.Problem.Closed != 0:
		return nextAction{Text: "Nothing is left to do."}
	case sealerOut(v) && v.Problem.Tagged == 0 && v.Can("Tag"):
		return nextAction{Text: "Hang a tag on sealer " + v.Facts.Number +
			" and switch it off, so that nobody seals on. The jaw stays hot.", To: path + "/tag",
			Actions: []Action{{Text: "Tagged and switched off", Tone: "main", Big: true}}}
	case holdsSealer(v) && !sealerOut(v) && v.Can("Check"):
		return returnChecks(v)
	case sealerOut(v) && engineer:
		return engineersTurn(v, path)
	case mustJudge(v):
		return judgement(v, path)
	}
	return nextOfPacks(v, path)
}

func returnChecks(v *desk.ProblemView) nextAction {
	st := v.SealerRow.Standing
	text := "A check is due on sealer " + v.Facts.Number + "."
	if st.Need == record.NeedReturn {
		text = "Return checks on sealer " + v.Facts.Number + ": " + itoa(st.Good) + " of " +
			itoa(st.Of) + " good."
	}
	if st.State == record.NotReady {
		text += " Possible from " + v.Clock(st.Until) + "."
	}
	return nextAction{Text: text, Actions: []Action{{Text: "Scan its label", Tone: "main", Big: true,
		Note: "or open it here", Href: sealerHref(v.SealerRow)}}}
}

// engineersTurn leads a person of clinical engineering: seen, at work, handed
// back.
func engineersTurn(v *desk.ProblemView, path string) nextAction {
	switch {
	case v.Ref.Seen == "" && v.Problem.Stage == "":
		return nextAction{Text: "Tell the department that you know.", To: path + "/seen",
			Actions: []Action{{Text: "I have seen it", Tone: "main", Big: true}}}
	case v.Problem.Stage == "":
		return nextAction{Text: "Isolate it from power before you open it.", To: path + "/work",
			Order: true, Actions: []Action{
				{Text: "I am at work on it", Tone: "main", Big: true, Name: "stage", Value: record.AtWork},
				{Text: "Hand it back", Href: path + "/hand-back"},
				{Text: "A vendor was called", Href: path + "/work"}}}
	}
	return nextAction{Text: "Isolate it from power before you open it. Sterile processing makes " +
		"the return checks.", Actions: []Action{
		{Text: "Hand it back", Tone: "main", Big: true, Href: path + "/hand-back"},
		{Text: "Order, vendor, date", Href: path + "/work"}}}
}

// mustJudge reports whether the lead has to say what the fault comes from: the
// hold list depends on it.
func mustJudge(v *desk.ProblemView) bool {
	return v.Can("Judge") && v.Problem.Blame == "" && v.Problem.NeedsEngineering() &&
		v.Problem.SettledAt == 0
}

func judgement(v *desk.ProblemView, path string) nextAction {
	own := "only " + v.PouchName + " stays on hold"
	if v.PouchName == "" {
		own = "only its own pouch stays on hold"
	}
	return nextAction{To: path + "/judgement", Legend: "Place or heat?",
		Text: "Where does the fault come from? Packs are held by this answer. It can be changed later.",
		Choices: []choice{
			{Value: string(record.BlamePlace),
				Text: "A place on the bar (element, cover, pad): every pouch is on hold"},
			{Value: string(record.BlameHeat), Text: "The heat: " + own},
			{Value: string(record.BlameBoth), Text: "Not known: every pouch is on hold"}},
		Actions: []Action{{Text: "This is where it comes from", Tone: "main", Big: true}}}
}

// nextOfPacks leads through the hold list to the end of the problem.
func nextOfPacks(v *desk.ProblemView, path string) nextAction {
	link := func(text, button, note, to string) nextAction {
		return nextAction{Text: text, Actions: []Action{
			{Text: button, Note: note, Tone: "main", Big: true, Href: path + to}}}
	}
	if next, ok := bulkNext(v, path); ok {
		return next
	}
	hold := &v.HoldList
	switch {
	case v.Problem.SettledAt == 0 && hold.Open && v.Can("AnswerHold"):
		return link("Earlier checks could not have seen this fault, so more packs may have it.",
			"Answer for the wider hold", "accept or decline, with a reason", "/answer")
	case v.Problem.SettledAt == 0 && (hold.Left > 0 || hold.Total == 0) && v.Can("SettlePacks"):
		return link("Find the packs, keep them aside and say what becomes of them.",
			"Hold list", leftNote(hold), "/hold")
	case v.Problem.SettledAt == 0 && v.Can("FinishPacks"):
		return link("Every pack of the list has an end.", "Packs are settled", "", "/settled")
	case sealerOut(v):
		return nextAction{Text: waitText(v)}
	case v.Problem.SettledAt == 0 && hold.Total > 0 && hold.Left == 0:
		return nextAction{Text: "Every pack of the list has an end. A lead signs for it."}
	case holdsSealer(v):
		return nextAction{Text: "Sterile processing makes the checks before sealer " +
			v.Facts.Number + " seals again."}
	case v.Problem.SettledAt != 0 && v.Can("CloseProblem"):
		return link(closeText(v), "Close the problem", "", "/close")
	case v.Problem.SettledAt != 0:
		return nextAction{Text: "A lead closes the problem."}
	}
	return nextAction{Text: "The department works through the hold list."}
}

func leftNote(hold *desk.HoldView) string {
	if hold.Total == 0 {
		return "none logged: look for sealer " + hold.Number
	}
	return itoa(hold.Left) + " of at least " + itoa(hold.Total) + " left"
}

func closeText(v *desk.ProblemView) string {
	if v.Problem.NeedsEngineering() {
		return "The sealer is back and the packs are settled."
	}
	return "The packs are settled."
}

// waitText tells whom everybody waits for.
func waitText(v *desk.ProblemView) string {
	word := v.EngineeringWord()
	switch {
	case v.Problem.Stage == record.Vendor:
		text := word + " has called a vendor"
		if v.Problem.Expected != 0 {
			text += ", expected " + dateText(v.Problem.Expected)
		}
		return text + "."
	case v.Problem.Stage == record.AtWork:
		return word + " is at work on it."
	case v.Ref.Seen != "":
		return word + " has seen it: " + v.Ref.Seen + ", " + v.Clock(v.Ref.SeenAt) + "."
	}
	return word + " has it in the queue and has not seen it yet."
}

// moreOf are the other things that this person can do.
func moreOf(v *desk.ProblemView) (list []Link) {
	if v.Problem.Closed != 0 {
		return nil
	}
	path := problemPath(v.Ref.ID)
	if v.Problem.NeedsEngineering() {
		list = append(list, Link{Href: path + "/evidence", Text: "Evidence sheet, to print"})
	}
	if v.Problem.What == rules.WhatMakers {
		list = append(list, Link{Href: path + "/lot", Text: "The lot, and the complaint to print"})
	}
	add := func(yes bool, text, to string) {
		if yes {
			list = append(list, Link{Href: path + to, Text: text})
		}
	}
	engineer, lead := v.Person.Has(record.Engineering), v.Person.Has(record.Lead)
	fixable := sealerOut(v) && !v.Problem.OnlyCE && v.Problem.Stage == "" &&
		v.Dept.SignedOff(v.Person, record.ToFix, v.Facts.Type, v.Day)
	add(fixable && v.Can("FirstLineFix"), "First-line fix", "/fix")
	word := midSentence(v.EngineeringWord())
	add(sealerOut(v) && lead && !engineer, "Enter for "+word, "/work")
	add(sealerOut(v) && lead && !engineer, "Handed back by "+word, "/hand-back")
	add(v.Problem.Blame != "" && v.Can("Judge") && v.Problem.SettledAt == 0 &&
		v.Problem.NeedsEngineering(), "Change where it comes from", "/judgement")
	return list
}
