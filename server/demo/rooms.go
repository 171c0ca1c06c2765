package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// pouch is one of the pouches in use.
type pouch int

const (
	paper pouch = iota
	nonwoven
	gusseted
)

// pouches have the windows that are usual for their materials (common practice,
// no source; the pouch maker's IFU decides).
var pouches = [...]desk.PouchIn{
	paper: {Name: "Paper/film 25 cm", Material: record.PaperFilm, Low: "165 °C", High: "200 °C",
		Dwell: "1.5 s", SealWidth: "8 mm", MinStrength: "1.5 N/15mm", Processes: []string{"steam"},
		IFUIn: desk.IFUIn{Title: "Paper/film pouches, instructions for use", Revision: "6", Page: "3"}},
	nonwoven: {Name: "Nonwoven 20 cm", Material: record.Nonwoven, Low: "120 °C", High: "130 °C",
		Dwell: "1 s", SealWidth: "6 mm", MinStrength: "1.2 N/15mm", Processes: []string{"hydrogen peroxide"},
		IFUIn: desk.IFUIn{Title: "HDPE nonwoven pouches, instructions for use", Revision: "2", Page: "4"}},
	gusseted: {Name: "Gusseted 30 cm", Material: record.Gusseted, Low: "170 °C", High: "190 °C",
		Dwell: "2 s", SealWidth: "8 mm", MinStrength: "1.5 N/15mm", Processes: []string{"steam"},
		IFUIn: desk.IFUIn{Title: "Gusseted pouches, instructions for use", Revision: "3", Page: "5"}},
}

func (p pouch) entry() record.ID { return entryID("add " + pouches[p].Name) }
func (p pouch) id() record.ID    { return p.entry().Derive("pouch") }

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
	one: {Number: "1", Type: record.BarDial, Asset: "20411", Serial: "B30-0187", Place: "Bench 1", WidthCM: 30,
		IFUIn: desk.IFUIn{Title: "Bar sealer with dial, operator's manual", Page: "11"}},
	two: {Number: "2", Type: record.BarDial, Asset: "20417", Serial: "B45-0052", Place: "Bench 2", WidthCM: 45,
		IFUIn: desk.IFUIn{Title: "Bar sealer with dial, operator's manual", Page: "11"}},
	three: {Number: "3", Type: record.Impulse, Asset: "20423", Serial: "T40-0316", Place: "Low-temperature corner",
		WidthCM: 40, IFUIn: desk.IFUIn{Title: "Impulse sealer, operator's manual", Page: "8"}},
	four: {Number: "4", Type: record.BarDial, Asset: "20430", Serial: "B45-0071", Place: "Bench 3", WidthCM: 45,
		IFUIn: desk.IFUIn{Title: "Bar sealer with dial, operator's manual", Page: "11"}},
	five: {Number: "5", Type: record.BarDisplay, Asset: "21004", Serial: "D40-0009", Place: "Bench 4", WidthCM: 40,
		IFUIn: desk.IFUIn{Title: "Bar sealer with display, operator's manual", Page: "14"}},
	feed: {Number: "A", Type: record.Continuous, Asset: "21150", Serial: "C1-0023", Place: "By the cart lift",
		Contract: "Yearly service, all parts", IFUIn: desk.IFUIn{Title: "Continuous-feed sealer, operator's manual",
			Page: "21"}},
}

func (s sealer) entry() record.ID { return entryID("add sealer " + sealers[s].Number) }

// setting is an approved setting of the invented department.
type setting struct {
	sealer             sealer
	pouch              pouch
	value, unit        string
	hold, speed        string
	provisionalForDays int
}

var settings = []setting{
	{sealer: one, pouch: paper, value: "7 1/2", unit: "mark", hold: "2 s"},
	{sealer: two, pouch: paper, value: "7 1/2", unit: "mark", hold: "2 s"},
	{sealer: three, pouch: nonwoven, value: "4", unit: "mark", hold: "until the light goes out"},
	{sealer: four, pouch: gusseted, value: "6", unit: "mark", hold: "3 s"},
	{sealer: five, pouch: paper, value: "180", unit: "degC", hold: "2 s"},
	{sealer: five, pouch: nonwoven, value: "125", unit: "degC", hold: "1 s"},
	{sealer: feed, pouch: paper, value: "182", unit: "degC", speed: "8 m/min"},
	{sealer: feed, pouch: gusseted, value: "180", unit: "degC", speed: "6 m/min", provisionalForDays: Days + 21},
}

// furnish brings in pouches and sealers, says how they are checked and approves
// their settings.
func (h *house) furnish() {
	lead := h.as(castellune).caller
	for p, in := range pouches {
		in.From = desk.From{ID: pouch(p).entry()}
		_, err := h.desk.AddPouch(h.ctx, lead, in)
		h.keep("add pouch "+in.Name, err)
	}
	for _, t := range []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse, record.Continuous} {
		h.as(castellune).plan(t, "First plan", func(*desk.PlanIn) {})
	}
	for s, in := range sealers {
		in.From = desk.From{ID: sealer(s).entry()}
		_, err := h.desk.AddSealer(h.ctx, lead, in)
		h.keep("add sealer "+in.Number, err)
	}
	h.findCodes()
	for _, a := range settings {
		h.as(castellune).approve(a)
	}
}

// plan says how sealers of a type are checked: the default with two good return
// checks, and with a change.
func (p hand) plan(t record.SealerType, reason string, change func(*desk.PlanIn)) {
	def := rules.DefaultPlan(t)
	in := desk.PlanIn{From: p.from(0), SealerType: t, Places: def.Places, Tests: def.Tests, ReturnGood: 2,
		AskShown: def.AskShown, Cool: def.CoolMinutes, Warm: def.WarmMinutes,
		Policy: "Policy SP-07, section 4; IFU of the sealer", Reason: reason}
	change(&in)
	_, err := p.desk.SetPlan(p.ctx, p.caller, in)
	p.keep("set plan", err)
}

func (p hand) approve(a setting) {
	in := desk.ApproveIn{From: p.from(0), Code: p.codes[a.sealer], Pouch: a.pouch.id(), Value: a.value, Unit: a.unit,
		Hold: a.hold, Speed: a.speed, IFUIn: pouches[a.pouch].IFUIn}
	if a.provisionalForDays > 0 {
		in.Provisional = p.day(Days) + record.Date(a.provisionalForDays)
	}
	_, err := p.desk.Approve(p.ctx, p.caller, in)
	p.keep("approve setting of sealer "+sealers[a.sealer].Number, err)
}
