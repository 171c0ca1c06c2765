package rules

import (
	"cmp"
	"slices"

	"tidemark/server/record"
	"tidemark/server/sealing"
)

// FaultFact is a fault that a sealer is to blame for, and where on the bar.
type FaultFact struct {
	At    record.Time  `json:"at"`
	Place record.Place `json:"place,omitempty"`
	AtCM  string       `json:"at_cm,omitempty"`
}

// Mend is something that was done so that a fault stays away: a repair that was
// handed back, a first-line fix, a part that was turned or replaced.
type Mend struct {
	At      record.Time `json:"at"`
	What    string      `json:"what"`           // one of Mended...
	Name    string      `json:"name,omitempty"` // what was found, or the task, as a code
	Problem record.ID   `json:"problem,omitzero"`
}

// Codes of Mend.What.
const (
	MendedRepair = "handed-back"
	MendedFix    = "first-line-fix"
	MendedTask   = "task"
	MendedPart   = "part-changed"
)

// Held tells what came after a mend: faults at the place of the fault before it,
// and elsewhere, until the next mend or now.
type Held struct {
	Mend
	Place     record.Place `json:"place,omitempty"` // of the fault before it, if one was near
	AtCM      string       `json:"at_cm,omitempty"`
	Same      int          `json:"same"`
	Other     int          `json:"other"`
	NextSame  record.Time  `json:"next_same,omitzero"` // the first of them, 0: none
	NextOther record.Time  `json:"next_other,omitzero"`
	Through   record.Time  `json:"through"` // how long was looked
	Open      bool         `json:"open"`    // until now: a fault may still come
}

// DidItHold tells of each mend what came after it, the newest first. A mend ends
// the time of the one before it: what came later is its own. Two mends of faults
// at different places are two stories; neither ends the other.
func DidItHold(mends []Mend, faults []FaultFact, now record.Time) []Held {
	mends, faults = slices.Clone(mends), slices.Clone(faults)
	slices.SortStableFunc(mends, func(a, b Mend) int { return cmp.Compare(a.At, b.At) })
	slices.SortStableFunc(faults, func(a, b FaultFact) int { return cmp.Compare(a.At, b.At) })
	list := make([]Held, len(mends))
	for i, m := range mends {
		list[i] = Held{Mend: m, Through: now, Open: true}
		list[i].answer(faults)
	}
	for i := range list {
		h := &list[i]
		next := slices.IndexFunc(list[i+1:], func(o Held) bool { return !h.elsewhere(&o) })
		if next >= 0 {
			h.Through, h.Open = list[i+1+next].At, false
		}
		h.count(faults)
	}
	slices.Reverse(list)
	return list
}

// answer finds the fault that a mend is taken to answer: the last before it.
func (h *Held) answer(faults []FaultFact) {
	for _, f := range slices.Backward(faults) {
		if f.At <= h.At {
			if h.At.Sub(f.At) <= againWithin {
				h.Place, h.AtCM = f.Place, f.AtCM
			}
			return
		}
	}
}

func (h *Held) at() FaultFact { return FaultFact{Place: h.Place, AtCM: h.AtCM} }

// elsewhere reports whether two mends are known to answer faults at different
// places.
func (h *Held) elsewhere(o *Held) bool {
	return samePlace(h.at(), h.at()) && samePlace(o.at(), o.at()) && !samePlace(h.at(), o.at())
}

// count counts the faults of a mend's time.
func (h *Held) count(faults []FaultFact) {
	for _, f := range faults {
		switch {
		case f.At <= h.At || f.At > h.Through:
		case samePlace(h.at(), f):
			h.Same++
			h.NextSame = cmp.Or(h.NextSame, f.At)
		default:
			h.Other++
			h.NextOther = cmp.Or(h.NextOther, f.At)
		}
	}
}

// samePlace reports whether two faults lie within 3 cm or, where no distance is
// known, in the same third of the bar.
func samePlace(a, b FaultFact) bool {
	x, err1 := sealing.ParseQuantity(a.AtCM, sealing.Centimetres)
	y, err2 := sealing.ParseQuantity(b.AtCM, sealing.Centimetres)
	if a.AtCM != "" && b.AtCM != "" && err1 == nil && err2 == nil {
		from, _ := x.In(sealing.Centimetres)
		to, _ := y.In(sealing.Centimetres)
		return from-to <= 3 && to-from <= 3
	}
	return a.Place != record.NoPlace && a.Place != record.Whole && a.Place == b.Place
}

// FaultIn is the fault that a record of a sealer's chain tells of, if the sealer
// is to blame for it.
func FaultIn(r *record.Record) (f FaultFact, ok bool) {
	body, err := r.Content()
	if err != nil {
		return f, false
	}
	f.At = r.Happened.From
	switch b := body.(type) {
	case *record.BadSeal:
		if ConsequenceOf(*b) != Stops {
			return f, false
		}
		if b.SealedAt != nil {
			f.At = b.SealedAt.To
		}
		f.Place, f.AtCM = b.Place, b.AtCM
	case *record.Check:
		if b.Outcome != record.Fail {
			return f, false
		}
		f.Place, f.AtCM = b.Place, b.AtCM
	default:
		return f, false
	}
	return f, true
}

// elementTask is the task that turns or replaces the sealing element.
const elementTask = "element"

// MendIn is the mend that a record of a sealer or of one of its problems tells of.
// Of tasks only those count that turned the element or put a part in: cleaning and
// measuring mend nothing.
func MendIn(r *record.Record) (m Mend, ok bool) {
	body, err := r.Content()
	if err != nil {
		return m, false
	}
	m.At = r.Happened.To
	switch b := body.(type) {
	case *record.HandedBack:
		m.What, m.Name, m.Problem = MendedRepair, b.Finding, r.Subject.ID
	case *record.FirstLineFix:
		m.What, m.Name, m.Problem = MendedFix, b.Cause, r.Subject.ID
	case *record.TaskDone:
		m.What, m.Name = MendedTask, b.Task
		return m, b.Part != "" || b.Task == elementTask
	case *record.Disturbance:
		m.What, m.Name = MendedPart, b.What
		return m, known(b.What, record.Element, record.Cover, record.Pad, record.Controller)
	default:
		return m, false
	}
	return m, true
}
