package web

import (
	"strings"

	"tidemark/server/desk"
)

// Mail puts a notice into words. The subject carries asset tag and problem number,
// so that a ticket inbox can file it. Neither holds names of the department's
// people, photographs or anything of a patient.
func Mail(n *desk.Notice) (subject, text string) {
	return mailSubject(n), mailText(n)
}

func mailSubject(n *desk.Notice) string {
	what := "out of service"
	switch {
	case n.Returned != 0:
		what = "back in service"
	case n.Repeat:
		what = "return check failed"
	case !n.Out:
		what = "being tested"
	}
	asset := ""
	if n.Facts.Asset != "" {
		asset = "asset " + n.Facts.Asset
	}
	return oneLine(listed(asset, "sealer "+n.Facts.Number) + ": " + what + " (problem " +
		itoa(n.Number) + ")")
}

// oneLine keeps a header in its line, whatever was typed as an asset tag.
func oneLine(s string) string { return strings.Join(strings.Fields(capital(s)), " ") }

func mailText(n *desk.Notice) string {
	var b strings.Builder
	line := func(parts ...string) {
		for _, p := range parts {
			b.WriteString(p)
		}
		b.WriteString("\n")
	}
	line(n.Frame.Place, ": a heat sealer for ", midSentence(n.EngineeringWord()), ".")
	if n.Repeat {
		line("A return check has failed: the fault came back.")
	}
	line()
	for _, f := range linkFacts(&n.LinkView) {
		line(padded(f.Term+":"), f.Text)
	}
	for _, e := range n.Earlier {
		line(padded("Earlier:"), listed("problem "+itoa(e.Number), n.Clock(e.At),
			faultAt(e.Kind, e.Place, e.AtCM), findingWords[e.Finding], actionWords[e.Action]))
	}
	line()
	if n.Link != "" {
		line("Say that you have seen it, or hand it back, without an account:")
		line(n.Link)
		line("Everything on one page, to print: ", n.Link, "/evidence")
		line("The link is for you alone. It ends when the sealer is handed back, or after 14 days.")
		line("Isolate the sealer from power before service. The jaw stays hot.")
	} else {
		line("There is nothing to do now: ", n.Page)
	}
	line()
	line("An answer to this mail is read by nobody. Written as of ", n.Mark, ".")
	return b.String()
}

// FoundMail puts into words that reports of bad packs wait. It tells nothing of
// what strangers wrote.
func FoundMail(n *desk.FoundNotice) (subject, text string) {
	waits := "1 report waits"
	if n.Waiting != 1 {
		waits = itoa(n.Waiting) + " reports wait"
	}
	return oneLine("Bad pack found elsewhere: " + waits), n.Frame.Place + ": " + waits +
		" in the inbox, left without an account.\nNo sealer is stopped by them. Somebody has to take each:\n" + n.Page +
		"\n\nAn answer to this mail is read by nobody. Written as of " + n.Mark + ".\n"
}

// padded sets terms under each other in a mail.
func padded(term string) string {
	const width = 19
	return term + strings.Repeat(" ", max(1, width-len([]rune(term))))
}
