package web

import (
	"strconv"
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/static"
)

// describeSealing puts into words what happens at a sealer.
func describeSealing(f *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.Check:
		return checkWords(l, b)
	case *record.CheckAccepted:
		return words{Title: "A lead let the check count", Text: listed(l.Pouch, b.Reason)}
	case *record.Changeover:
		return words{Title: "Changeover to " + l.Pouch, Text: checkIn(b.Minutes)}
	case *record.Disturbance:
		return words{Title: disturbWords[b.What], Text: checkIn(b.Minutes)}
	case *record.BadSeal:
		return badSealWords(f, l, b)
	case *record.Packs:
		return words{Title: packsText(b.Count) + " sealed", Text: listed(l.Pouch, with("load",
			b.Load), with("sealed at", b.Set))}
	case *record.Photograph:
		return words{Title: "Photograph"}
	case *record.Corrected:
		return words{Title: "Correction" + ofEntry(l), Text: b.Why}
	case *record.Voided:
		if l.Effect.Nothing == "second-name" {
			return words{Title: "Asked to take back" + ofEntry(l), Text: b.Why}
		}
		return words{Title: "Taken back" + ofEntry(l), Text: b.Why}
	case *record.VoidConfirmed:
		return words{Title: "Agreed to take back" + ofEntry(l)}
	}
	return words{}
}

// ofEntry is what a correction calls its entry: there is a page of it.
func ofEntry(l *desk.Line) string {
	if l.Of == nil {
		return ""
	}
	return ": record " + strconv.FormatInt(int64(*l.Of), 10)
}

func checkWords(l *desk.Line, b *record.Check) words {
	w := words{
		Text: listed(
			l.Pouch,
			placesLine(b.Places),
			testsLine(b.Tests),
			with("display", b.Shown),
			with("found at", b.Set),
			with(
				"held",
				b.Dwell,
			),
			with("speed", b.Speed),
			with("pressure", b.Pressure),
			with("kit", b.Kit),
			with("pouch lot", b.Lot),
		),
	}
	switch b.Outcome {
	case record.Pass:
		w.Title, w.Tone = "Good check", "ready"
	case record.Fail:
		w.Title, w.Tone = "Failed check: "+faultAt(b.Kind, b.Place, b.AtCM), "out"
	case record.NotYet:
		w.Title, w.Text = "Not ready, no test made", reasonWords[b.Reason]
	default:
		w.Title, w.Text = "Test not valid", sentences(reasonWords[b.Reason], w.Text)
	}
	return w
}

// faultAt is "channel, left, 3 cm from the left".
func faultAt(kind record.Fault, place record.Place, cm string) string {
	from := ""
	if cm != "" {
		from = strings.TrimSuffix(strings.TrimSpace(cm), " cm") + " cm from the left"
	}
	return listed(strings.ToLower(faultWords[kind]), placeWords[place], from)
}

func badSealWords(f *desk.Frame, l *desk.Line, b *record.BadSeal) words {
	w := words{Title: "Bad seal: " + faultAt(b.Kind, b.Place, b.AtCM), Tone: "out"}
	whose := ""
	if b.MakersSeal {
		whose = "the pouch maker's seal"
	}
	sealed := ""
	if b.SealedAt != nil {
		sealed = "sealed " + f.Clock(b.SealedAt.From)
		if b.SealedAt.To != b.SealedAt.From {
			sealed += " to " + f.Clock(b.SealedAt.To)
		}
	}
	w.Text = listed(
		whose,
		l.Pouch,
		with("lot", b.Lot),
		with("load", b.Load),
		foundWords[b.Found],
		sealed,
	)
	return w
}

func testsLine(tests []record.Test) string {
	var list []string
	for _, t := range tests {
		list = append(list, testNames[t])
	}
	return strings.Join(list, " and ")
}

// settingText is a setting in a line of text: "7½", "180 °C".
func settingText(value, unit string) string {
	return strings.TrimSpace(static.DialText(value) + " " + unitWords[unit])
}

func checkIn(minutes int) string {
	if minutes == 0 {
		return ""
	}
	return "a check " + itoa(minutes) + " minutes later at the earliest"
}

func packsText(n int) string {
	if n == 1 {
		return "1 pack"
	}
	return itoa(n) + " packs"
}

var disturbWords = map[string]string{
	record.PowerOff: "Power was off", record.KnobMoved: "Knob found moved",
	record.Element: "Sealing element changed",
	record.Cover:   "Non-stick cover changed", record.Pad: "Pad changed",
	record.Controller: "Controller changed",
	record.Moved:      "Moved", record.Cleaned: "Cleaned", record.Other: "Something else was done to it",
}

var foundWords = map[string]string{
	record.AtBench: "found at the bench", record.AtLoad: "found in a load",
	record.AtStore:   "found in store",
	record.AtTheatre: "found in the operating room",
}

var testNames = map[record.Test]string{
	record.Look: "visual inspection", record.Dye: "dye test",
	record.Indicator: "seal indicator sheet", record.Peel: "peel",
}

// reasonWords are those of a check without a result.
var reasonWords = func() map[string]string {
	m := map[string]string{}
	for _, c := range append(append([]choice{}, notReadyReasons...), notValidReasons...) {
		m[c.Value] = strings.ToLower(c.Text[:1]) + c.Text[1:]
	}
	return m
}()
