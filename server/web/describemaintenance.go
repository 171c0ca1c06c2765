package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// describeMaintenance puts into words what is done to sealers again and again,
// and what a calibration found.
func describeMaintenance(f *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.MaintenanceSet:
		return words{Title: "Maintenance plan changed: " + typeWords[b.SealerType],
			Text: listed(countText(len(b.Tasks), "task"), b.Reason)}
	case *record.TaskDone:
		return words{Title: "Done: " + orText(l.Task, b.Task), Tone: "ready",
			Text: listed(b.Reading, with("put in", b.Part), with("report", b.Report))}
	case *record.TaskSkipped:
		return words{Title: "Skipped: " + orText(l.Task, b.Task), Text: b.Reason}
	case *record.TaskExtended:
		return words{Title: "May wait until " + dateText(b.Until) + ": " + orText(l.Task, b.Task), Text: b.Reason}
	case *record.Calibrated:
		return words{Title: "Calibrated", Text: listed(leftText(b), instrumentText(b.Instrument),
			with("report", b.Report), b.Firm)}
	case *record.FoundJudged:
		return judgedWords(l, b)
	case *record.BulkAssessed:
		return words{Title: packsText(b.Packs) + " assessed: " + endWords[b.End], Text: listed(b.Reason,
			"the first of two names")}
	case *record.BulkConfirmed:
		return words{Title: "Assessment confirmed by a second person", Tone: "ready"}
	}
	return words{}
}

func leftText(b *record.Calibrated) string {
	if len(b.Left) == 0 {
		return "nothing was adjusted"
	}
	return "adjusted"
}

// judgedWords tell what a calibration means for one pouch. A window that was
// missed is the news; one that was kept is said as plainly.
func judgedWords(l *desk.Line, b *record.FoundJudged) words {
	w := words{Text: listed(with("found at the sealing face", strings.TrimSpace(b.Face+" "+placeWords[b.Place])),
		with("window", b.Window), with("probability that it was met", b.Confidence))}
	switch b.Found {
	case record.Missed:
		w.Title, w.Tone = "Window missed as found: "+l.Pouch, "out"
	case record.Kept:
		w.Title = "Window kept as found: " + l.Pouch
	case record.Unclear:
		w.Title = "Window kept, but not surely: " + l.Pouch
	default:
		w.Title = "Cannot be judged as found: " + l.Pouch
	}
	return w
}

// countText is "1 task", "4 tasks".
func countText(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return itoa(n) + " " + word + "s"
}
