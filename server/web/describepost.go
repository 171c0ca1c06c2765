package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// describePost puts into words whom the department tells, and reports that came
// from elsewhere.
func describePost(_ *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.RouteSet:
		return words{Title: "Whom to tell was changed", Text: listed(peopleText(len(b.People)),
			"the next after "+minutesText(b.Minutes), b.Reason)}
	case *record.Called:
		return words{Title: strings.TrimSpace("Told " + l.Whom), Text: listed(calledBy(b), unlessFalse(b.Urgent, "urgent: a pouch has no sealer left"))}
	case *record.HookSet:
		if b.Off {
			return words{Title: "Webhook ended", Text: b.Reason}
		}
		return words{Title: "Webhook named", Text: b.Reason}
	case *record.PostDecided:
		if b.Decision == "drop" {
			return words{Title: messagesText(b.Messages) + " dropped"}
		}
		return words{Title: messagesText(b.Messages) + " sent again"}
	case *record.Rang:
		return words{Title: "A bad pack was found elsewhere", Text: "the leads are told", Tone: "out"}
	case *record.NotOurs:
		return words{Title: "Found elsewhere, not ours", Text: b.Why}
	}
	return words{}
}

func calledBy(b *record.Called) string {
	return listed(unlessFalse(b.Mail, "by mail"), unlessFalse(!b.Hook.IsZero(), "by webhook"))
}

func peopleText(n int) string {
	if n == 1 {
		return "1 person"
	}
	return itoa(n) + " people"
}

func minutesText(n int) string {
	if n == 1 {
		return "1 minute"
	}
	return itoa(n) + " minutes"
}

func messagesText(n int) string {
	if n == 1 {
		return "1 message"
	}
	return itoa(n) + " messages"
}
