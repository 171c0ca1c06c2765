package rules

import (
	"slices"

	"tidemark/server/record"
)

// Bounds are the ends of a window. A check is None where there is no such check
// and the window is open at that end.
type Bounds struct {
	From, To           record.Time
	FromCheck, ToCheck record.Seq
}

// windows are the proposed and the possible window of one fault.
func (p *Problem) windows(a Anchor, h History) (near, far Bounds) {
	end := max(p.end(h.Now), a.To)
	near = window(h, a, end, func(c CheckFact) bool { return c.Pouch == a.Pouch })
	far = window(h, a, end, func(c CheckFact) bool { return c.Pouch == a.Pouch && p.visible(a, c) })
	far.widen(near)
	return near, far
}

// visible reports whether a check could have seen fault a, as far as anything is
// known of it by now.
func (p *Problem) visible(a Anchor, c CheckFact) bool {
	place, kind := a.Place, a.Kind
	if place == record.NoPlace {
		place = p.Place
	}
	if kind == "" {
		kind = p.Kind
	}
	return couldSee(c, place, kind)
}

// narrow takes the load on the pack into account: it was sealed when the log says
// that packs of the load were. An entry made long afterwards narrows nothing.
func (a Anchor) narrow(packs []PackFact) Anchor {
	from, to := record.Time(0), record.Time(0)
	for _, k := range packs {
		if a.Load == "" || k.Load != a.Load || k.Late || k.At.To < a.From || k.At.From > a.To {
			continue
		}
		if from == 0 || k.At.From < from {
			from = k.At.From
		}
		to = max(to, k.At.To)
	}
	if from != 0 {
		a.From, a.To = max(a.From, from), min(a.To, to)
	}
	return a
}

// window reaches from the last good check that counts before the bad pack was
// sealed to the first one after it, or to the end of sealing if that is earlier.
func window(h History, a Anchor, end record.Time, counts func(CheckFact) bool) Bounds {
	b := Bounds{From: h.Begins, To: end, FromCheck: record.None, ToCheck: record.None}
	if a.From != 0 {
		b.From = min(h.Begins, a.From)
	}
	for _, c := range h.Checks {
		if !c.Good || !c.Witnessed || !counts(c) {
			continue
		}
		if c.Began <= a.From {
			b.From, b.FromCheck = c.Began, c.Seq
		}
		if c.Began > a.To && c.Began <= end && b.ToCheck == record.None {
			b.To, b.ToCheck = c.Began, c.Seq
		}
	}
	return b
}

func (b *Bounds) widen(o Bounds) {
	if o.From < b.From {
		b.From, b.FromCheck = o.From, o.FromCheck
	}
	if o.To > b.To {
		b.To, b.ToCheck = o.To, o.ToCheck
	}
}

// couldSee reports whether a check could have seen a fault of this kind at this
// place. Dye finds ways through; a weak or burnt seal shows in a peel.
func couldSee(c CheckFact, place record.Place, kind record.Fault) bool {
	if place != record.NoPlace && place != record.Whole &&
		!slices.Contains(c.Places, place) && !slices.Contains(c.Places, record.Whole) {
		return false
	}
	switch kind {
	case record.Weak, record.Delamination:
		return slices.Contains(c.Tests, record.Peel) || slices.Contains(c.Tests, record.Indicator)
	case record.Channel:
		return slices.Contains(c.Tests, record.Dye) || slices.Contains(c.Tests, record.Indicator)
	}
	return true
}
