package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// describeProblem puts into words the steps of a problem.
func describeProblem(f *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.Tagged:
		return words{Title: "Tagged and switched off"}
	case *record.Seen:
		return words{Title: "Seen by " + f.EngineeringWord()}
	case *record.Work:
		return workWords(b)
	case *record.HandedBack:
		return words{Title: "Handed back: " + findingWords[b.Finding],
			Text: listed(actionWords[b.Action], with("order", b.Order),
				with("parts", b.Parts), safetyWords[b.Safety], unlessFalse(b.Wiped, "wiped down"))}
	case *record.FirstLineFix:
		return words{Title: "First-line fix", Text: listed(with("it was", fixCauses[b.Cause]),
			codesLine(b.Did, fixWords))}
	case *record.Judged:
		return words{Title: "The fault comes from " + blameWords[b.Blame]}
	case *record.PacksLocated:
		return words{Title: packsText(b.Count) + " found: " + whereWords[b.Where], Text: "kept aside, no end yet"}
	case *record.PacksTurnedUp:
		return words{Title: packsText(b.Packs) + " turned up in a list", Text: "the packs are not settled any more", Tone: "out"}
	case *record.PhotoMarked:
		return words{Title: "Place marked on a photograph"}
	case *record.HoldTold:
		return words{Title: capital(whomWords[b.Whom]) + " told", Text: with("reference", b.Reference)}
	case *record.PackSettled:
		return words{Title: packsText(b.Count) + " " + endWords[b.End],
			Text: listed(whereWords[b.Where], b.Reason)}
	case *record.PacksSettled:
		return words{Title: "Packs settled", Text: listed(packsText(b.Packs)+" known", b.Reason),
			Tone: "ready"}
	case *record.ProblemClosed:
		return words{Title: "Problem closed", Text: b.Reason, Tone: "ready"}
	case *record.Note:
		return words{Title: "Note"}
	}
	return holdWords(f, l)
}

func holdWords(f *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.HoldChanged:
		return words{Title: "Hold set to " + f.Clock(b.From) + " to " + f.Clock(b.To),
			Text: b.Reason}
	case *record.HoldAnswered:
		if b.Accept {
			return words{Title: "The wider hold counts", Text: b.Reason}
		}
		return words{Title: "The wider hold was declined", Text: b.Reason}
	}
	return words{}
}

func workWords(b *record.Work) words {
	w := words{Title: "At work", Text: listed(with("order", b.Order), with("loaner", b.Loaner))}
	if b.Stage == record.Vendor {
		w.Title = "Vendor called"
		w.Text = listed(
			b.Vendor,
			with("order", b.Order),
			with("expected", dateText(b.Expected)),
			with("loaner", b.Loaner),
		)
	}
	return w
}

func unlessFalse(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

func codesLine(codes []string, in map[string]string) string {
	var list []string
	for _, c := range codes {
		list = append(list, in[c])
	}
	return strings.Join(list, ", ")
}

var findingWords = map[string]string{
	"element": "sealing element", "cover": "non-stick cover", "pad": "pad or roller",
	"pressure":            "contact pressure",
	"temperature-control": "temperature control", "controller": "controller", "use": "use",
	"none-found": "no fault found",
}

var actionWords = map[string]string{
	"replaced": "replaced", "adjusted": "adjusted", "cleaned": "cleaned",
	"nothing": "nothing was done",
}

var safetyWords = map[string]string{
	"ok":         "electrical safety ok",
	"not-needed": "electrical safety test not needed",
}

var fixWords = map[string]string{
	"set": "set again", "warmed-up": "warmed up", "jaw-cleaned": "jaw cleaned",
	"new-kit": "new test kit", "new-lot": "new pouch lot",
}

var fixCauses = map[string]string{
	"setting": "the setting", "warm-up": "the warm-up", "dirt": "dirt", "kit": "the test kit",
	"pouch": "the pouch",
}

var blameWords = map[record.Blame]string{
	record.BlamePlace: "a place on the bar", record.BlameHeat: "the heat",
	record.BlameBoth: "an unknown cause",
}

var endWords = map[string]string{
	"repackaged": "repackaged", "discarded": "discarded", "used": "used", "released": "released",
	"not-found": "not found",
}

var whereWords = map[string]string{
	"cart": "cart and bench", "chamber": "chamber and cooling", "store": "store",
	"issued": "issued",
}
