package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// bandOf draws where a sealer stands: shape, word, and why.
func bandOf(f *desk.Frame, st record.Readiness) *Band {
	b := &Band{Word: stateWord(f, st), Note: whyWords[st.Why]}
	switch st.State {
	case record.Ready:
		b.State = "ready"
	case record.CheckDue:
		b.State = "due"
	case record.NotReady:
		b.State, b.Fill = "notyet", filled(st, f.Now)
		b.Note += ", check from " + f.Clock(st.Until)
	case record.OutOfService:
		b.State = "out"
	case record.WithEngineering:
		b.State = "engineering"
	default:
		b.State = "retired"
	}
	b.Note = strings.TrimPrefix(b.Note, ", ")
	return b
}

// filled is the share of the settle time that is over, in percent.
func filled(st record.Readiness, now record.Time) int {
	if st.Until <= st.From {
		return 100
	}
	return int(max(4, min(100, 100*(now-st.From)/(st.Until-st.From))))
}

func stateWord(f *desk.Frame, st record.Readiness) string {
	switch st.State {
	case record.Ready:
		return "Ready"
	case record.CheckDue:
		return needWords[st.Need]
	case record.NotReady:
		return "Not ready yet"
	case record.OutOfService:
		return "Out of service. Do not seal."
	case record.WithEngineering:
		return "With " + midSentence(f.EngineeringWord())
	}
	if st.Why == rules.WhyAway {
		return "Not here"
	}
	return "Retired"
}

// midSentence writes a department's own word within a sentence; an abbreviation
// stays as it is.
func midSentence(word string) string {
	if len(word) > 1 && strings.ToUpper(word[:2]) != word[:2] {
		return strings.ToLower(word[:1]) + word[1:]
	}
	return word
}

var needWords = map[record.Need]string{
	record.NeedCheck:    "Check due",
	record.NeedTestSeal: "Check due: one test seal",
	record.NeedFresh:    "Check due: two fresh pouches",
	record.NeedPlaces:   "Check due: left, middle, right",
	record.NeedReturn:   "Check due: return checks",
}

// whyWords say why a sealer stands where it stands.
var whyWords = map[string]string{
	"new-sealer":          "new here, not checked yet",
	"new-day":             "new day",
	"new-shift":           "time for the next check of the day",
	"changeover":          "changing over",
	"approval-changed":    "the approved setting was changed",
	"no-approval":         "no approved setting",
	"approval-expired":    "the provisional approval has ended",
	"ifu-revised":         "the pouch's IFU was revised: do not use until the lead decides",
	"approval-questioned": "the approved setting is in doubt: do not use until the lead decides",
	"failed-check":        "failed check",
	"test-not-valid":      "the test was not valid",
	"not-ready-yet":       "was not ready when it was looked at",
	"bad-seal":            "bad seal",
	"test-seal":           "after a packing fault",
	"found-elsewhere":     "a bad pack of an earlier day was found",
	"handed-back":         "handed back",
	"first-line-fix":      "after a first-line fix",
	"at-work":             "at work",
	"moved":               "it was moved",
	"power-off":           "power was off",
	"knob-moved":          "the knob was found moved",
	"element-changed":     "sealing element changed",
	"cover-changed":       "non-stick cover changed",
	"pad-changed":         "pad changed",
	"controller-changed":  "controller changed",
	"cleaned":             "cleaned",
	"other":               "something was done to it",
	"maintained":          "after maintenance",
	"calibrated":          "after a calibration",
	"calibration-overdue": "calibration overdue: do not use until calibrated or extended",
	"retired":             "not in use any more",
	"away":                "at another place",
	"check-voided":        "its check was taken back",
	"stop-voided":         "taken out of service by mistake",
}

var faultWords = map[record.Fault]string{
	record.Channel: "Channel", record.Unsealed: "Unsealed area", record.Weak: "Weak seal", record.Burn: "Burn",
	record.Bubble: "Bubble or gap", record.Crease: "Crease", record.TooClose: "Item too close",
	record.Overfilled: "Overfilled", record.Tear: "Tear", record.Hole: "Hole", record.Dirt: "Dirt in seal",
	record.Narrow: "Narrow seal", record.Delamination: "Delamination", record.SecondSeal: "Second seal found",
	record.DontKnow: "Don't know",
}

var placeWords = map[record.Place]string{
	record.Left: "left", record.Middle: "middle", record.Right: "right", record.Whole: "all along",
}

var testWords = map[record.Test]string{
	record.Look: "look along the whole seal", record.Dye: "let the dye stand along each seal (5 s, or as the kit says)",
	record.Indicator: "lay in a seal indicator sheet", record.Peel: "peel each seal open",
}

var typeWords = map[record.SealerType]string{
	record.BarDial: "bar with a dial", record.BarDisplay: "bar with a display", record.Impulse: "impulse bar",
	record.Continuous: "continuous-feed",
}

var roleWords = map[record.Role]string{
	record.Technician: "Technician", record.Lead: "Lead", record.Engineering: "Clinical engineering",
	record.Surveyor: "Surveyor (reads only)", record.Administrator: "Administrator",
}

// kinds name the drawings of pouches.
var kinds = map[record.Material]string{
	record.PaperFilm: "paperfilm", record.Nonwoven: "nonwoven", record.Gusseted: "gusseted",
}

var materialWords = map[record.Material]string{
	record.PaperFilm: "Paper/film", record.Nonwoven: "HDPE nonwoven", record.Gusseted: "Gusseted paper/film",
}

var unitWords = map[string]string{"mark": "", "degC": "°C", "degF": "°F", "s": "s"}

// setTo is what to do with the control of a sealer.
func setTo(t record.SealerType, unit string) string {
	switch {
	case t == record.BarDial:
		return "Set the dial to"
	case t == record.Impulse:
		return "Set the timer to"
	case t == record.BarDisplay && unit != "mark":
		return "The display must show"
	}
	return "Set it to"
}
