package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// describeSettings puts into words what is measured and tried out on a sealer
// for those who approve its settings.
func describeSettings(_ *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.ApprovalQuestioned:
		return words{Title: "Do not use for " + l.Pouch + " until the lead decides", Tone: "out",
			Text: listed(doubtWords[b.Why], with("at the sealing face", b.Face),
				with("window", b.Window))}
	case *record.TemperatureTable:
		return words{Title: "Temperature table " + tableWords[b.Source],
			Text: listed(conditionWords[b.Condition], itoa(len(b.Points))+" points",
				documentText(b.Document), instrumentText(b.Instrument))}
	case *record.Reading:
		return words{Title: "Measured " + quantityText(b.Face) + " at " + quantityText(b.Set),
			Text: listed(placeWords[b.Place], with("display", quantityText(b.Shown)),
				instrumentText(b.Instrument))}
	case *record.LadderTrial:
		return words{Title: "Ladder trial for " + l.Pouch,
			Text: listed(itoa(len(b.Steps))+" seals", with("pouch lot", b.Lot), with("kit", b.Kit),
				b.Hold, b.Speed)}
	case *record.StrengthTested:
		return words{Title: "Seal strength tested: " + l.Pouch,
			Text: listed(itoa(len(b.Strips))+" strips", madeText(b.SealsMade), b.Method)}
	case *record.WidthMeasured:
		return words{Title: "Seal width measured: " + l.Pouch,
			Text: listed(strings.Join(b.Ribs, " + ")+" "+sealing.Unit(b.Unit).Symbol(),
				with("at least", quantityText(b.Least)), madeText(b.SealsMade))}
	case *record.AfterSterilizing:
		return words{Title: "Seals tested after sterilizing: " + l.Pouch,
			Text: listed(b.Process, with("load", b.Load), "good before "+outOf(b.BeforeGood, b.Before),
				"after "+outOf(b.AfterGood, b.After), madeText(b.SealsMade))}
	}
	return words{}
}

func madeText(m record.SealsMade) string {
	return listed(with("sealed at", quantityText(m.Setting)), with("pouch lot", m.Lot))
}

func outOf(good, all int) string { return itoa(good) + " of " + itoa(all) }

// quantityText is a quantity as a person reads it; what cannot be read stays as
// it was typed.
func quantityText(q record.Quantity) string {
	read, err := sealing.Q(q.Value, sealing.Unit(q.Unit))
	if err != nil {
		return q.Value
	}
	return read.String()
}

func instrumentText(i record.Instrument) string {
	return listed(with("with", i.Name), with("certificate", i.Certificate),
		with("good until", dateText(i.Due)))
}

var tableWords = map[record.TableSource]string{
	record.Measured: "measured", record.FromMaker: "from the maker",
}

var conditionWords = map[record.Condition]string{
	record.AsFound: "as found", record.AsLeft: "as left",
}

var doubtWords = map[record.Doubt]string{
	record.DoubtTable: "outside the window by a new temperature table",
	record.DoubtIFU:   "outside the window of the revised IFU",
	record.DoubtFound: "found outside the window",
}
