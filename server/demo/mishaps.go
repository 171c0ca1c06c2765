package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// firstLineFix: a bubble, and a jaw that wanted cleaning. Clinical engineering is
// told, not called.
func (h *house) firstLineFix() {
	problem := new(record.ID)
	day := h.weekday(78)
	h.at(day, "05:18", func() {
		*problem = h.as(fennimark).fails(one, paper,
			desk.CheckIn{Kind: record.Bubble, Place: record.Middle, AtCM: "14 cm"}).Problem
	})
	h.at(day, "06:35", func() { h.as(iyenath).fix(*problem, "jaw-cleaned", "dirt") })
	h.at(day, "07:02", func() { h.as(iyenath).pass(one, paper) })
	h.at(day, "07:10", func() { h.as(iyenath).pass(one, paper) })
	h.at(day, "09:20", func() {
		h.as(ollerby).conclude(*problem, "Jaw cleaned, return checks good.")
	})
}

// makersSeals: twice a pouch maker's seal is open. The first lot was let go after
// the supplier's answer, the second is still on hold.
func (h *house) makersSeals() {
	first, second := new(record.ID), new(record.ID)
	day := h.weekday(71)
	h.at(day, "13:25", func() {
		*first = h.as(fennimark).report(one, paper, desk.BadSealIn{Whose: "maker",
			Kind: record.Unsealed, Lot: "PF-60418", Found: record.AtBench}).Problem
	})
	h.at(nextWeekday(day+3), "10:10", func() {
		h.as(ollerby).release(paper, "PF-60418", "Supplier's answer: one carton, replaced. "+
			"50 pouches of the rest looked at, none open.")
		h.as(ollerby).settle(*first, all, desk.SettleIn{Where: "store", End: "released",
			Reason: "The department's own seals were not in doubt."})
		h.as(ollerby).conclude(*first, "Carton replaced by the supplier.")
	})

	day = h.weekday(10)
	h.at(day, "15:48", func() {
		*second = h.as(valdorro).report(one, paper, desk.BadSealIn{Whose: "maker",
			Kind: record.Channel, Lot: "PF-61022", Found: record.AtBench}).Problem
	})
	h.at(nextWeekday(day), "09:05", func() {
		h.as(castellune).note(*second, "Complaint sheet and three pouches sent to the supplier. "+
			"Lot stays on hold until they answer.")
	})
}

// powerCut: all sealers at 03:00. One comes back on its default and is not ready
// before it is set again.
func (h *house) powerCut() {
	night := h.day(44)
	h.at(night, "03:14", func() { h.as(adekembe).powerWasOff() })
	h.at(night, "03:34", func() {
		c := desk.CheckIn{Outcome: record.NotYet, Reason: "setting", Shown: "150"}
		c.Cause, c.Note = "setting-lost", "Came back on 150. Set to 180 again."
		h.as(adekembe).check(five, paper, c)
	})
	h.at(night, "03:38", func() { h.as(adekembe).passIfDue(one, paper) })
	h.at(night, "03:46", func() { h.as(adekembe).passIfDue(two, paper) })
	h.at(night, "03:57", func() { h.as(adekembe).passIfDue(five, paper) })
}

// sealedDuringChangeover: two packs on a jaw that was still cooling.
func (h *house) sealedDuringChangeover() {
	problem := new(record.ID)
	day := h.weekday(20)
	h.at(day, "09:38", func() { h.as(pellamy).changeover(five, nonwoven) })
	h.at(day, "09:52", func() {
		p := h.as(iyenath)
		*problem = p.count(five, paper, 2, p.from(p.page(five, paper).Size)).Problem
	})
	h.at(day, "10:05", func() {
		h.as(ollerby).conclude(*problem, "Both were still on the bench; sealed again on sealer 1.")
	})
}

// testNotValid: dye crept into the paper; two fresh pouches are good.
func (h *house) testNotValid() {
	day := h.weekday(14)
	h.at(day, "05:12", func() {
		h.as(iyenath).check(feed, paper, desk.CheckIn{Outcome: record.NotValid, Reason: "crept"})
	})
	h.at(day, "05:17", func() { h.as(iyenath).pass(feed, paper) })
	h.at(day, "05:22", func() { h.as(iyenath).pass(feed, paper) })
}

// crease: a fault of packing. One test seal, and on it goes.
func (h *house) crease() {
	day := h.weekday(6)
	h.at(day, "10:31", func() {
		h.as(pellamy).report(one, paper,
			desk.BadSealIn{Kind: record.Crease, Place: record.Left, Found: record.AtBench})
	})
	h.at(day, "10:36", func() { h.as(pellamy).pass(one, paper) })
}
