package demo

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// withEngineering: since the last working day the impulse sealer is away; its
// timer burns nonwoven, and the vendor is called.
func (h *house) withEngineering() {
	const order = "WO-47893"
	problem := new(record.ID)
	day := h.weekday(1)
	h.at(day, "15:40", func() {
		*problem = h.as(valdorro).stops(three, nonwoven,
			desk.BadSealIn{Kind: record.Burn, Place: record.Middle}).Problem
	})
	h.at(day, "16:04", func() { h.as(brannock).see(*problem) })
	h.at(day, "16:50", func() {
		h.as(brannock).work(*problem, desk.WorkIn{Stage: record.AtWork, Order: order}, "")
	})
	h.at(day, "17:30", func() {
		h.as(valdorro).settle(*problem, 3, desk.SettleIn{Where: "cart", End: "repackaged"})
	})
	h.at(day+1, "08:30", func() {
		h.as(brannock).work(*problem, desk.WorkIn{Stage: record.Vendor, Order: order,
			Vendor: "Maker's service line", Expected: h.today + 2},
			"Timer runs on after the light goes out. Board ordered.")
	})
}

// outOfService: a while ago sealer 2 did it again. Nobody has taken it in hand;
// by day clinical engineering has seen it.
func (h *house) outOfService() {
	t := h.stopTime()
	problem := new(record.ID)
	h.add(t.Add(-21*time.Minute), func() { h.whoever(t).seal(two, paper, 7) })
	h.add(t, func() {
		p := h.whoever(t)
		found := p.report(two, paper, desk.BadSealIn{Kind: record.Channel, Place: record.Right,
			AtCM: "31.5 cm", Found: record.AtBench})
		p.photograph(found, drawChannel(31.5, 45))
		*problem = found.Problem
	})
	h.add(t.Add(3*time.Minute), func() { h.whoever(t).tag(*problem) })
	if hour := t.Hour(); hour >= 7 && hour < 18 {
		h.add(t.Add(19*time.Minute), func() { h.as(brannock).see(*problem) })
	}
}

// stopTime lies 52 minutes back. Where the new day's check would have come in
// between, the fault was found in the night before.
func (h *house) stopTime() time.Time {
	t, begin := h.end.In(h.zone).Add(-52*time.Minute), h.moment(h.today, "05:00")
	if !t.Before(begin) && t.Before(h.moment(h.today, "07:15")) {
		return begin.Add(-25 * time.Minute)
	}
	return t
}
