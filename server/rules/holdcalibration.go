package rules

import (
	"slices"

	"tidemark/server/record"
)

// sinceCalibration reaches from the last good calibration, or from the first
// record, to the one that found the window missed. Checks between do not shorten
// it: no test of a day sees overheating.
func (p *Problem) sinceCalibration(h History) Bounds {
	b := Bounds{From: h.Begins, To: p.Ends, FromCheck: record.None, ToCheck: record.None}
	for _, a := range p.Anchors {
		if a.From != 0 {
			b.From = a.From
		}
	}
	return b
}

// calibratedBefore reports whether the window begins at a good calibration.
func (p *Problem) calibratedBefore() bool {
	return p.What == WhatCalibration && slices.ContainsFunc(p.Anchors, func(a Anchor) bool { return a.From != 0 })
}

// passesSince counts the good checks of its pouch in a calibration's time.
func (p *Problem) passesSince(h History) (n int) {
	b := p.sinceCalibration(h)
	for _, c := range h.Checks {
		if c.Good && c.Pouch == p.Pouch && c.Began >= b.From && c.Began <= b.To {
			n++
		}
	}
	return n
}
