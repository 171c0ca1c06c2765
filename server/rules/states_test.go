package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// standings are where the rows of RULES.md R20 start from. Each leaves the clock
// at 10:00 of 13 January and returns the problem that it opened, if any.
var standings = map[string]func(h *house, s record.ID) record.ID{
	"check due": func(h *house, s record.ID) record.ID { return record.ID{} },
	"ready": func(h *house, s record.ID) record.ID {
		h.pass(s, h.paper)
		return record.ID{}
	},
	"test seal wanted": func(h *house, s record.ID) record.ID {
		h.pass(s, h.paper)
		h.found(s, record.Crease)
		return record.ID{}
	},
	"two fresh wanted": func(h *house, s record.ID) record.ID {
		h.tested(s, h.paper, record.NotValid)
		return record.ID{}
	},
	"all places wanted": func(h *house, s record.ID) record.ID {
		h.pass(s, h.paper)
		return h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Channel, Pouch: h.paper, Found: record.AtTheatre,
			SealedAt: aWholeDay("2026-01-05")}).ID
	},
	"changing over": func(h *house, s record.ID) record.ID {
		h.pass(s, h.paper)
		_, err := h.changeover(h.direct(), s, h.nonwoven)
		require.NoError(h.t, err)
		return record.ID{}
	},
	"out of service": func(h *house, s record.ID) record.ID {
		h.pass(s, h.paper)
		return h.tested(s, h.paper, record.Fail).ID
	},
	"with engineering": func(h *house, s record.ID) record.ID {
		p := h.found(s, record.Channel).ID
		h.step(p, &record.Work{Stage: record.AtWork})
		return p
	},
	"return checks 0 of 2": func(h *house, s record.ID) record.ID {
		p := h.found(s, record.Channel).ID
		h.handBack(p)
		return p
	},
	"return checks 1 of 2": func(h *house, s record.ID) record.ID {
		p := h.found(s, record.Channel).ID
		h.handBack(p)
		h.pass(s, h.paper)
		return p
	},
	"retired": func(h *house, s record.ID) record.ID {
		h.setUp(sealerOf(s), &record.SealerRetired{Why: "worn out"})
		return record.ID{}
	},
}

func startAt(t *testing.T, from string) (h *house, s, problem record.ID) {
	h = newHouse(t)
	h.plan(record.BarDisplay, func(p *record.Plan) { p.ReturnGood = 2 })
	s = h.shared("5")
	h.at("2026-01-13 10:00")
	problem = standings[from](h, s)
	h.later(minutes(1))
	return h, s, problem
}

// TestEveryRowOfTheTableOfStates walks RULES.md R20 and the settled questions
// about it.
func TestEveryRowOfTheTableOfStates(t *testing.T) {
	type does = func(h *house, s, problem record.ID)
	pass := func(h *house, s, _ record.ID) { h.pass(s, h.paper) }
	fail := func(h *house, s, _ record.ID) { h.tested(s, h.paper, record.Fail) }
	notValid := func(h *house, s, _ record.ID) { h.tested(s, h.paper, record.NotValid) }
	notYet := func(h *house, s, _ record.ID) { h.tested(s, h.paper, record.NotYet) }
	bad := func(k record.Fault) does { return func(h *house, s, _ record.ID) { h.found(s, k) } }
	disturbed := func(what string) does {
		return func(h *house, s, _ record.ID) { h.disturb(h.direct(), what, s) }
	}
	cold := func(h *house, s, _ record.ID) { h.tested(s, h.nonwoven, record.NotYet) }
	change := func(h *house, s, _ record.ID) {
		_, err := h.changeover(h.direct(), s, h.nonwoven)
		require.NoError(h.t, err)
	}
	retire := func(h *house, s, _ record.ID) { h.setUp(sealerOf(s), &record.SealerRetired{}) }
	step := func(b record.Body) does { return func(h *house, _, p record.ID) { h.step(p, b) } }
	seen := func(h *house, _, p record.ID) {
		e := h.direct()
		e.By, e.Via = record.ID{}, record.ViaLink
		_, err := h.stepBy(e, p, &record.Seen{})
		require.NoError(h.t, err)
	}
	const (
		due, notReady, out, ce = record.CheckDue, record.NotReady, record.OutOfService, record.WithEngineering
		none, check, seal      = record.NeedNothing, record.NeedCheck, record.NeedTestSeal
		fresh, places, ret     = record.NeedFresh, record.NeedPlaces, record.NeedReturn
	)
	rows := []struct {
		from, what string
		do         does
		state      record.State
		need       record.Need
		why        string
	}{
		{"check due", "pass", pass, record.Ready, none, rules.WhyGood},
		{"check due", "fail", fail, out, none, rules.WhyFail},
		{"check due", "not valid", notValid, due, fresh, rules.WhyNotValid},
		{"check due", "not ready", notYet, due, check, rules.WhyNotYet},
		{"check due", "a crease changes nothing", bad(record.Crease), due, check, rules.WhyNew},
		{"check due", "a channel", bad(record.Channel), out, none, rules.WhyBadSeal},
		{"check due", "power off", disturbed(record.PowerOff), notReady, check, record.PowerOff},
		{"check due", "knob moved", disturbed(record.KnobMoved), due, check, record.KnobMoved},
		{"check due", "changeover", change, notReady, check, rules.WhyChangeover},

		{"ready", "a further good check", pass, record.Ready, none, rules.WhyGood},
		{"ready", "fail", fail, out, none, rules.WhyFail},
		{"ready", "not valid", notValid, due, fresh, rules.WhyNotValid},
		{"ready", "not ready", notYet, due, check, rules.WhyNotYet},
		{"ready", "power off", disturbed(record.PowerOff), notReady, check, record.PowerOff},
		{"ready", "moved", disturbed(record.Moved), due, check, record.Moved},
		{"ready", "changeover", change, notReady, check, rules.WhyChangeover},
		{"ready", "a second seal is a symptom", bad(record.SecondSeal), record.Ready, none, rules.WhyGood},
		{"ready", "retired", retire, record.Retired, none, rules.WhyRetired},

		{"test seal wanted", "good: go on", pass, record.Ready, none, rules.WhyGood},
		{"test seal wanted", "bad", fail, out, none, rules.WhyFail},
		{"test seal wanted", "not valid", notValid, due, fresh, rules.WhyNotValid},
		{"test seal wanted", "another crease", bad(record.Crease), due, seal, rules.WhyRepackage},
		{"test seal wanted", "a disturbance asks for the whole check", disturbed(record.Element), due, check, record.Element},

		{"two fresh wanted", "one good is not enough", pass, due, fresh, rules.WhyNotValid},
		{"two fresh wanted", "fail", fail, out, none, rules.WhyFail},
		{"two fresh wanted", "a second not valid counts as a fail", notValid, out, none, rules.WhyNotValid},
		{"two fresh wanted", "not ready", notYet, due, fresh, rules.WhyNotYet},
		{"two fresh wanted", "a disturbance asks for the whole check", disturbed(record.Pad), due, check, record.Pad},

		{"all places wanted", "good", pass, record.Ready, none, rules.WhyGood},
		{"all places wanted", "bad", fail, out, none, rules.WhyFail},
		{"all places wanted", "a test that says nothing wants all places still", notValid, due, places, rules.WhyNotValid},
		{"all places wanted", "a disturbance wants all places still", disturbed(record.Cover), due, places, record.Cover},

		{"changing over", "not ready changes nothing", cold, notReady, check, rules.WhyChangeover},
		{"changing over", "a disturbance does not shorten the wait", disturbed(record.KnobMoved), notReady, check, record.KnobMoved},
		{"changing over", "a channel", bad(record.Channel), out, none, rules.WhyBadSeal},

		{"out of service", "a disturbance changes nothing", disturbed(record.PowerOff), out, none, rules.WhyFail},
		{"out of service", "seen changes nothing", seen, out, none, rules.WhyFail},
		{"out of service", "tagged changes nothing", step(&record.Tagged{SwitchedOff: true}), out, none, rules.WhyFail},
		{"out of service", "a crease changes nothing", bad(record.Crease), out, none, rules.WhyFail},
		{"out of service", "at work", step(&record.Work{Stage: record.AtWork}), ce, none, rules.WhyAtWork},
		{"out of service", "vendor called", step(&record.Work{Stage: record.Vendor}), ce, none, rules.WhyAtWork},
		{"out of service", "first-line fix", step(&record.FirstLineFix{Did: []string{"jaw-cleaned"}, Cause: "dirt"}),
			due, ret, rules.WhyFixed},
		{"out of service", "handed back", step(&record.HandedBack{Finding: "none-found", Action: "nothing"}),
			due, ret, rules.WhyHandedBack},
		{"out of service", "retired", retire, record.Retired, none, rules.WhyRetired},

		{"with engineering", "handed back", step(&record.HandedBack{Finding: "pad", Action: "replaced"}),
			due, ret, rules.WhyHandedBack},
		{"with engineering", "another bad seal stays there", bad(record.Weak), ce, none, rules.WhyBadSeal},
		{"with engineering", "retired", retire, record.Retired, none, rules.WhyRetired},

		{"return checks 0 of 2", "good: 1 of 2", pass, due, ret, rules.WhyHandedBack},
		{"return checks 0 of 2", "failed", fail, out, none, rules.WhyFail},
		{"return checks 0 of 2", "not valid", notValid, due, ret, rules.WhyNotValid},
		{"return checks 0 of 2", "bad seal", bad(record.Burn), out, none, rules.WhyBadSeal},
		{"return checks 0 of 2", "a crease", bad(record.Crease), due, ret, rules.WhyHandedBack},
		{"return checks 1 of 2", "good: ready", pass, record.Ready, none, rules.WhyReturned},
		{"return checks 1 of 2", "failed", fail, out, none, rules.WhyFail},
		{"return checks 1 of 2", "power off starts the row again", disturbed(record.PowerOff), notReady, ret, record.PowerOff},

		{"retired", "a channel found later", bad(record.Channel), record.Retired, none, rules.WhyRetired},
		{"retired", "a disturbance", disturbed(record.Moved), record.Retired, none, rules.WhyRetired},
	}
	for _, row := range rows {
		t.Run(row.from+": "+row.what, func(t *testing.T) {
			h, s, problem := startAt(t, row.from)
			row.do(h, s, problem)
			if row.state == record.Ready {
				h.requireReady(s, h.paper)
				require.Equal(t, row.why, h.standing(s).Why)
				return
			}
			h.requireStands(s, row.state, row.need, row.why)
		})
	}
}
