package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// sealer is one of the sealers, by the number on its packs.
type sealer int

const (
	one sealer = iota
	two
	three
	four
	five
	feed // the continuous-feed one, A
)

var sealers = [...]desk.SealerIn{
	one: {
		Number: "1", Type: record.BarDial, Asset: "20411", Serial: "B30-0187",
		Place: "Bench 1", WidthCM: 30, IFUIn: ifu("Bar sealer with dial, manual", "", "11"),
	},
	two: {
		Number: "2", Type: record.BarDial, Asset: "20417", Serial: "B45-0052",
		Place: "Bench 2", WidthCM: 45, IFUIn: ifu("Bar sealer with dial, manual", "", "11"),
	},
	three: {
		Number: "3", Type: record.Impulse, Asset: "20423", Serial: "T40-0316",
		Place: "Low-temperature corner", WidthCM: 40, IFUIn: ifu("Impulse sealer, manual", "", "8"),
	},
	four: {
		Number: "4", Type: record.BarDial, Asset: "20430", Serial: "B45-0071",
		Place: "Bench 3", WidthCM: 45, IFUIn: ifu("Bar sealer with dial, manual", "", "11"),
	},
	five: {
		Number: "5", Type: record.BarDisplay, Asset: "21004", Serial: "D40-0009",
		Place: "Bench 4", WidthCM: 40, IFUIn: ifu("Bar sealer with display, manual", "B", "14"),
	},
	feed: {
		Number: "A", Type: record.Continuous, Asset: "21150", Serial: "C1-0023",
		Place: "By the cart lift", IFUIn: ifu("Continuous-feed sealer, manual", "4", "21"),
		Contract: "Yearly service, all parts",
	},
}

func (s sealer) entry() record.ID { return entryID("add sealer " + sealers[s].Number) }

// setting is an approved setting of the invented department.
type setting struct {
	sealer      sealer
	pouch       pouch
	value, unit string
	hold, speed string
	until       int // days from the first, if it is provisional
}

var settings = []setting{
	{sealer: one, pouch: paper, value: "7 1/2", unit: "mark", hold: "2 s"},
	{sealer: two, pouch: paper, value: "7 1/2", unit: "mark", hold: "2 s"},
	{sealer: three, pouch: nonwoven, value: "4", unit: "mark", hold: "until the light goes out"},
	{sealer: four, pouch: gusseted, value: "6", unit: "mark", hold: "3 s"},
	{sealer: five, pouch: paper, value: "180", unit: "degC", hold: "2 s"},
	{sealer: five, pouch: nonwoven, value: "125", unit: "degC", hold: "1 s"},
	{sealer: feed, pouch: paper, value: "182", unit: "degC", speed: "8 m/min"},
	{sealer: feed, pouch: gusseted, value: "180", unit: "degC", speed: "6 m/min", until: Days + 21},
}

// furnish brings in pouches and sealers, says how they are checked and approves
// their settings.
func (h *house) furnish() {
	lead := h.as(castellune)
	lead.stock()
	for _, t := range []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse,
		record.Continuous} {
		lead.plan(t, "First plan")
	}
	for s, in := range sealers {
		in.From = desk.From{ID: sealer(s).entry()}
		_, err := h.desk.AddSealer(h.ctx, lead.caller, in)
		h.keep("add sealer "+in.Number, err)
	}
	h.findCodes()
	for _, a := range settings {
		lead.approve(a)
	}
}

// plan says how sealers of a type are checked: the default with two good return
// checks, and with further tests.
func (p hand) plan(t record.SealerType, reason string, more ...record.Test) {
	def := rules.DefaultPlan(t)
	_, err := p.desk.SetPlan(p.ctx, p.caller, desk.PlanIn{From: p.from(0), SealerType: t,
		Places: def.Places, Tests: append(def.Tests, more...), ReturnGood: 2,
		AskShown: def.AskShown, Cool: def.CoolMinutes, Warm: def.WarmMinutes,
		Policy: "Policy SP-07, section 4; IFU of the sealer", Reason: reason})
	p.keep("set plan", err)
}

func (p hand) approve(a setting) {
	in := desk.ApproveIn{From: p.from(0), Code: p.codes[a.sealer], Pouch: a.pouch.id(),
		Value: a.value, Unit: a.unit, Hold: a.hold, Speed: a.speed, IFUIn: pouches[a.pouch].IFUIn}
	if a.until > 0 {
		in.Provisional = p.day(Days) + record.Date(a.until)
	}
	_, err := p.desk.Approve(p.ctx, p.caller, in)
	p.keep("approve setting of sealer "+sealers[a.sealer].Number, err)
}
