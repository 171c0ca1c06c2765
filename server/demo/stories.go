package demo

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// channelAtOnePlace: sealer 2 leaves a channel about 31 cm from the left, again
// and again; what was replaced each time was not the cause.
func (h *house) channelAtOnePlace() {
	first, second := new(record.ID), new(record.ID)
	day := h.weekday(49)
	h.at(h.on(day, "05:16"), func() {
		found := h.as(fennimark).fails(two, paper, record.Channel, record.Right, "31 cm")
		h.as(fennimark).photograph(found, drawChannel(31, 45))
		*first = found.Problem
	})
	h.at(h.on(day, "07:35"), func() { h.as(brannock).see(*first) })
	h.repaired(first, repair{sealer: two, pouch: paper, by: brannock, start: h.on(day, "09:40"), order: "WO-47731",
		back:  desk.HandBackIn{Finding: "cover", Action: "replaced", Parts: "Non-stick cover, 45 cm"},
		note:  "Cover had a crease at 31 cm. New cover, jaw wiped.",
		close: "Cause found: creased cover. Packs of the window opened and repackaged."})

	day = h.weekday(24)
	h.at(h.on(day, "14:52"), func() {
		found := h.as(ostrowin).report(two, paper, desk.BadSealIn{Kind: record.Channel, Place: record.Right, AtCM: "30 cm",
			Found: record.AtBench})
		h.as(ostrowin).tag(found.Problem)
		*second = found.Problem
	})
	h.at(h.on(day, "15:10"), func() { h.as(nakashiro).see(*second) })
	h.at(h.on(day, "15:25"), func() { h.as(castellune).judge(*second, record.BlamePlace) })
	h.repaired(second, repair{sealer: two, pouch: paper, by: nakashiro, start: h.on(nextWeekday(day), "08:20"),
		order: "WO-47802", back: desk.HandBackIn{Finding: "pad", Action: "replaced", Parts: "Counter-pressure pad, 45 cm"},
		note:  "Pad looked even; replaced on suspicion. Contact print good along the whole bar.",
		close: "Pad replaced. Same place as three weeks earlier: watch the right end."})
}

// displayThatLies: sealer 5 shows 125 and is hotter. Paper/film has room for it,
// nonwoven has not.
func (h *house) displayThatLies() {
	problem := new(record.ID)
	day := h.weekday(66)
	h.at(h.on(day, "12:46"), func() {
		found := h.as(pellamy).report(five, nonwoven, desk.BadSealIn{Kind: record.Burn, Place: record.Whole, Found: record.AtBench})
		h.as(pellamy).tag(found.Problem)
		*problem = found.Problem
	})
	h.at(h.on(day, "13:05"), func() { h.as(castellune).judge(*problem, record.BlameHeat) })
	h.at(h.on(day, "13:20"), func() { h.as(brannock).see(*problem) })
	day = nextWeekday(day)
	h.at(h.on(day, "10:30"), func() {
		h.as(brannock).note(*problem, "Reference thermometer at the sealing face, display at 125: "+
			"left 131.8 °C, middle 132.4 °C, right 132.1 °C. At 180: 187 °C. The display reads 7 degrees low.")
	})
	h.repaired(problem, repair{sealer: five, pouch: nonwoven, by: brannock, start: h.on(day, "08:15"), order: "WO-47655",
		back: desk.HandBackIn{Finding: "temperature-control", Action: "adjusted", Parts: "Temperature sensor"},
		note: "Sensor replaced, control adjusted. Display and reference agree within 1 degree at 125 and at 180.",
		close: "Display read 7 degrees low: 132 at the face for nonwoven (120 to 130), 187 for paper/film (165 to 200). " +
			"Nonwoven packs repackaged, paper/film not affected."})
}

// repairThatDidNotHold: sealer 4 is handed back and makes weak seals again within
// days; peels join the plan, and then the cause is found.
func (h *house) repairThatDidNotHold() {
	first, again := new(record.ID), new(record.ID)
	day := h.weekday(40)
	h.at(h.on(day, "11:32"), func() {
		found := h.as(iyenath).report(four, gusseted, desk.BadSealIn{Kind: record.Weak, Place: record.Left,
			Found: record.AtLoad, SealedAt: onForm(h.on(h.weekday(40), "11:20"))})
		h.as(iyenath).tag(found.Problem)
		*first = found.Problem
	})
	h.at(h.on(day, "11:58"), func() { h.as(nakashiro).see(*first) })
	h.repaired(first, repair{sealer: four, pouch: gusseted, by: nakashiro, start: h.on(nextWeekday(day), "08:30"),
		order: "WO-47760", back: desk.HandBackIn{Finding: "pressure", Action: "adjusted"},
		note: "Jaw pressure raised by one turn on the left.", close: "Handed back with more pressure; return checks good."})
	h.at(h.on(nextWeekday(day), "16:10"), func() {
		h.as(ollerby).plan(record.BarDial, "Dye does not show a weak seal: peel as well", func(p *desk.PlanIn) {
			p.Tests = append(p.Tests, record.Peel)
		})
	})

	day = nextWeekday(day + 3)
	h.at(h.on(day, "05:17"), func() {
		*again = h.as(pellamy).fails(four, gusseted, record.Weak, record.Left, "6 cm").Problem
	})
	h.at(h.on(day, "07:20"), func() { h.as(brannock).see(*again) })
	h.repaired(again, repair{sealer: four, pouch: gusseted, by: brannock, start: h.on(day, "09:05"), order: "WO-47774",
		back:  desk.HandBackIn{Finding: "pad", Action: "replaced", Parts: "Counter-pressure pad, 45 cm"},
		note:  "Pad was flattened over 8 cm at the left end. The first repair had only hidden it.",
		close: "Pad replaced, peels good at all places."})
}

// paperDay is a sealer whose check was written on paper on a day.
type paperDay struct {
	day    record.Date
	sealer sealer
}

// lateEntry: the check of sealer 4 was written on the downtime form and entered
// in the afternoon, by the lead for the one who made it.
func (h *house) lateEntry() {
	h.onPaper = paperDay{h.weekday(17), four}
	day := h.onPaper.day
	clock := func(text string) string { return onForm(h.on(day, text)) }
	h.at(h.on(day, "13:42"), func() {
		h.as(ollerby).check(four, gusseted, desk.CheckIn{Outcome: record.Pass, From: desk.From{
			Happened: clock("06:20"), OnBehalfOf: fennimark.id(), Note: "From the downtime form; the tablet was being charged."}})
	})
	h.at(h.on(day, "13:44"), func() {
		from := h.from(h.as(ollerby).page(four, gusseted).Size)
		from.Happened, from.HappenedTo, from.OnBehalfOf = clock("06:40"), clock("13:20"), fennimark.id()
		h.as(ollerby).count(four, gusseted, 14, from)
	})
}

// onForm writes a moment as it is typed into a form.
func onForm(t time.Time) string { return t.Format("2006-01-02T15:04") }

// withEngineering: the impulse sealer burns nonwoven; its vendor is called.
func (h *house) withEngineering() {
	problem := new(record.ID)
	day := h.weekday(1)
	h.at(h.on(day, "15:40"), func() {
		found := h.as(valdorro).report(three, nonwoven, desk.BadSealIn{Kind: record.Burn, Place: record.Middle, Found: record.AtBench})
		h.as(valdorro).tag(found.Problem)
		*problem = found.Problem
	})
	h.at(h.on(day, "16:04"), func() { h.as(brannock).see(*problem) })
	h.at(h.on(day, "16:50"), func() {
		h.as(brannock).work(*problem, desk.WorkIn{Stage: record.AtWork, Order: "WO-47893"}, "")
	})
	h.at(h.on(day, "17:30"), func() {
		h.as(valdorro).settle(*problem, 3, desk.SettleIn{Where: "cart", End: "repackaged"})
	})
	h.at(h.on(day+1, "08:30"), func() {
		h.as(brannock).work(*problem, desk.WorkIn{Stage: record.Vendor, Order: "WO-47893", Vendor: "Maker's service line",
			Expected: h.today + 2}, "Timer runs on after the light goes out. Board ordered.")
	})
}

// outOfService: a while ago sealer 2 did it again. Nobody has taken it in hand.
func (h *house) outOfService() {
	t := h.end.Add(-52 * time.Minute)
	if from := h.on(h.today, "05:00"); !t.Before(from) && t.Before(h.on(h.today, "07:15")) {
		t = from.Add(-25 * time.Minute) // the new day's check comes first
	}
	problem := new(record.ID)
	h.at(t.Add(-21*time.Minute), func() { h.whoever(t).seal(two, paper, 7) })
	h.at(t, func() {
		p := h.whoever(t)
		found := p.report(two, paper, desk.BadSealIn{Kind: record.Channel, Place: record.Right, AtCM: "31.5 cm", Found: record.AtBench})
		p.photograph(found, drawChannel(31.5, 45))
		*problem = found.Problem
	})
	h.at(t.Add(3*time.Minute), func() { h.whoever(t).tag(*problem) })
	if hour := t.In(h.zone).Hour(); hour >= 7 && hour < 18 {
		h.at(t.Add(19*time.Minute), func() { h.as(brannock).see(*problem) })
	}
}
