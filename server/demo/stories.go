package demo

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// channelAtOnePlace: sealer 2 leaves a channel about 31 cm from the left, again
// and again; what was replaced each time was not the cause. The third time is
// outOfService.
func (h *house) channelAtOnePlace() {
	first, second := new(record.ID), new(record.ID)
	day := h.weekday(49)
	h.at(day, "05:16", func() {
		found := h.as(fennimark).fails(two, paper,
			desk.CheckIn{Kind: record.Channel, Place: record.Right, AtCM: "31 cm"})
		h.as(fennimark).photograph(found, drawChannel(31, 45))
		*first = found.Problem
	})
	h.at(day, "07:35", func() { h.as(brannock).see(*first) })
	h.repaired(first, repair{sealer: two, pouch: paper, by: brannock, start: h.moment(day, "09:40"),
		back: handBack("WO-47731", "cover", "replaced", "Non-stick cover, 45 cm",
			"Cover had a crease at 31 cm. New cover, jaw wiped."),
		close: "Cause found: creased cover. Packs of the window opened and repackaged."})

	day = h.weekday(24)
	h.at(day, "14:52", func() {
		*second = h.as(ostrowin).stops(two, paper,
			desk.BadSealIn{Kind: record.Channel, Place: record.Right, AtCM: "30 cm"}).Problem
	})
	h.at(day, "15:10", func() { h.as(nakashiro).see(*second) })
	h.at(day, "15:25", func() { h.as(castellune).judge(*second, record.BlamePlace) })
	h.repaired(second, repair{sealer: two, pouch: paper, by: nakashiro,
		start: h.moment(nextWeekday(day), "08:20"),
		back: handBack("WO-47802", "pad", "replaced", "Counter-pressure pad, 45 cm",
			"Pad looked even; replaced on suspicion. Contact print good along the whole bar."),
		close: "Pad replaced. Same place as three weeks earlier: watch the right end."})
}

func handBack(order, finding, action, parts, note string) desk.HandBackIn {
	in := desk.HandBackIn{Order: order, Finding: finding, Action: action, Parts: parts}
	in.Note = note
	return in
}

// displayThatLies: sealer 5 shows 125 and is hotter. Paper/film has room for it,
// nonwoven has not.
func (h *house) displayThatLies() {
	problem := new(record.ID)
	day := h.weekday(66)
	h.at(day, "12:46", func() {
		*problem = h.as(pellamy).stops(five, nonwoven,
			desk.BadSealIn{Kind: record.Burn, Place: record.Whole}).Problem
	})
	h.at(day, "13:05", func() { h.as(castellune).judge(*problem, record.BlameHeat) })
	h.at(day, "13:20", func() { h.as(brannock).see(*problem) })
	day = nextWeekday(day)
	h.at(day, "10:30", func() {
		h.as(brannock).note(*problem, "Reference thermometer at the sealing face. Display at 125: "+
			"left 131.8 °C, middle 132.4 °C, right 132.1 °C. Display at 180: 187 °C. "+
			"The display reads 7 degrees low.")
		h.as(brannock).calibrates(hotter5, true5.points(), "K-21004/2")
	})
	h.assessed(nextWeekday(day))
	h.repaired(problem, repair{sealer: five, pouch: nonwoven, by: brannock,
		start: h.moment(day, "08:15"),
		back: handBack("WO-47655", "temperature-control", "adjusted", "Temperature sensor",
			"Sensor replaced, control adjusted. Display and reference agree within 1 degree "+
				"at 125 and at 180."),
		close: "Display read 7 degrees low: 132 at the face for nonwoven (120 to 130), 187 for " +
			"paper/film (165 to 200). Nonwoven packs repackaged, paper/film not affected."})
}

// repairThatDidNotHold: sealer 4 is handed back and makes weak seals again within
// days; peels join the plan, and then the cause is found.
func (h *house) repairThatDidNotHold() {
	first, again := new(record.ID), new(record.ID)
	day := h.weekday(40)
	h.at(day, "11:32", func() {
		*first = h.as(iyenath).stops(four, gusseted, desk.BadSealIn{Kind: record.Weak,
			Place: record.Left, SealedAt: onForm(h.moment(h.weekday(40), "11:20"))}).Problem
	})
	h.at(day, "11:58", func() { h.as(nakashiro).see(*first) })
	repaired := nextWeekday(day)
	h.repaired(first, repair{sealer: four, pouch: gusseted, by: nakashiro,
		start: h.moment(repaired, "08:30"),
		back: handBack("WO-47760", "pressure", "adjusted", "",
			"Jaw pressure raised by one turn on the left."),
		close: "Handed back with more pressure; return checks good."})
	h.at(repaired, "16:10", func() {
		h.as(ollerby).plan(record.BarDial, "Dye does not show a weak seal: peel, too", record.Peel)
	})

	day = nextWeekday(day + 3)
	h.at(day, "05:17", func() {
		*again = h.as(pellamy).fails(four, gusseted,
			desk.CheckIn{Kind: record.Weak, Place: record.Left, AtCM: "6 cm"}).Problem
	})
	h.at(day, "07:20", func() { h.as(brannock).see(*again) })
	h.repaired(again, repair{sealer: four, pouch: gusseted, by: brannock,
		start: h.moment(day, "09:05"),
		back: handBack("WO-47774", "pad", "replaced", "Counter-pressure pad, 45 cm",
			"Pad was flattened over 8 cm at the left end. The first repair had only hidden it."),
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
	h.at(day, "13:42", func() {
		c := desk.CheckIn{Outcome: record.Pass}
		c.Happened, c.OnBehalfOf = onForm(h.moment(day, "06:20")), fennimark.id()
		c.Note = "From the downtime form; the tablet was being charged."
		h.as(ollerby).check(four, gusseted, c)
	})
	h.at(day, "13:44", func() {
		from := h.from(h.as(ollerby).page(four, gusseted).Size)
		from.Happened, from.OnBehalfOf = onForm(h.moment(day, "06:40")), fennimark.id()
		from.HappenedTo = onForm(h.moment(day, "13:20"))
		h.as(ollerby).count(four, gusseted, 14, from)
	})
}

// onForm writes a moment as it is typed into a form.
func onForm(t time.Time) string { return t.Format("2006-01-02T15:04") }
