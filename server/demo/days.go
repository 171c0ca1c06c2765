package demo

import (
	"slices"
	"time"

	"tidemark/server/record"
)

// Days is how many operating days lie behind a new demo.
const Days = 90

// opening is when the department begins with tidemark, on its first day.
const opening = "08:00"

// job is what a sealer does on a day: a pouch and up to when it is sealed.
type job struct {
	sealer sealer
	pouch  pouch
	clock  string
}

// weekdayWork and weekendWork are the entries of the pack log of a day. The
// shared sealer does nonwoven between two changeovers.
var (
	weekdayWork = []job{
		{one, paper, "08:35"}, {two, paper, "08:50"}, {feed, paper, "09:10"},
		{three, nonwoven, "10:50"}, {four, gusseted, "11:05"}, {five, nonwoven, "12:20"},
		{two, paper, "14:25"}, {five, paper, "17:15"}, {one, paper, "23:35"},
	}
	weekendWork = []job{
		{one, paper, "10:15"}, {two, paper, "11:20"}, {five, paper, "15:05"},
		{one, paper, "21:50"},
	}
)

// ordinaryDays writes down everyday life from the first day to today.
func (h *house) ordinaryDays(missed ...record.Date) {
	for back := Days; back >= 0; back-- {
		day := h.day(back)
		if back%30 == 0 {
			h.newDye(day)
		}
		switch {
		case slices.Contains(missed, day):
		case weekend(day) && back < Days && !busySaturday(day):
			h.round(day, one, two, five)
			h.notNeeded(day, three, four, feed)
			h.log(day, weekendWork)
		default:
			h.round(day, one, two, three, four, five, feed)
			h.changeovers(day)
			h.log(day, weekdayWork)
		}
	}
}

// newDye opens a box of dye before the first check of a day.
func (h *house) newDye(day record.Date) {
	t := h.moment(day, "05:12")
	if day == h.day(Days) {
		t = h.moment(day, "08:40") // the first thing on the first day
	}
	h.add(t, func() { h.as(onDuty(6)[0]).openDye("D-"+day.UTC().Format("0102"), day+540) })
}

// busySaturday tells of one Saturday in four that all sealers are needed.
func busySaturday(day record.Date) bool {
	return day.UTC().Weekday() == time.Saturday && day/7%4 == 0
}

// firstPouch is what a sealer is checked with in the morning.
var firstPouch = [...]pouch{one: paper, two: paper, three: nonwoven, four: gusseted, five: paper,
	feed: paper}

// round is the check before first use, from sealer to sealer, by whoever goes
// round that morning.
func (h *house) round(day record.Date, list ...sealer) {
	t := h.moment(day, "05:26")
	if day == h.day(Days) {
		t = h.moment(day, "08:50") // not before there are sealers
	}
	t = h.later(t, 0, 40)
	goes := onDuty(6)[h.luck.IntN(3)]
	for _, s := range list {
		t = h.later(t, 3, 9)
		if h.onPaper != (paperDay{day, s}) {
			h.add(t, func() { h.as(goes).passEitherIfDue(s) })
		}
	}
}

// passEitherIfDue checks a sealer with its first pouch, or with the one that it
// was left set up for.
func (p hand) passEitherIfDue(s sealer) {
	p.passIfDue(s, firstPouch[s])
	if s == five {
		p.passIfDue(s, nonwoven)
	}
}

// later is a moment so many minutes after t, with seconds.
func (h *house) later(t time.Time, from, to int) time.Time {
	seconds := 60*from + h.luck.IntN(60*(to-from))
	return t.Add(time.Duration(seconds) * time.Second)
}

// changeovers takes the shared sealer to nonwoven and back.
func (h *house) changeovers(day record.Date) {
	for _, c := range []struct {
		clock   string
		to      pouch
		minutes int // to settle
	}{{"09:50", nonwoven, 40}, {"13:40", paper, 15}} {
		t := h.later(h.moment(day, c.clock), 0, 30)
		h.add(t, func() { h.whoever(t).changeover(five, c.to) })
		check := h.later(t, c.minutes+1, c.minutes+7)
		h.add(check, func() { h.whoever(check).passIfDue(five, c.to) })
	}
}

// notNeeded says on a weekend that some sealers are not used.
func (h *house) notNeeded(day record.Date, list ...sealer) {
	t := h.later(h.moment(day, "06:45"), 0, 20)
	h.add(t, func() { h.whoever(t).notUsed(day, list...) })
}

// log counts the packs of a day.
func (h *house) log(day record.Date, work []job) {
	for _, j := range work {
		t := h.later(h.moment(day, j.clock), 0, 14)
		count := 2 + h.luck.IntN(11)
		h.add(t, func() { h.whoever(t).seal(j.sealer, j.pouch, count) })
	}
}
