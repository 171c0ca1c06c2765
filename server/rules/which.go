package rules

import (
	"cmp"
	"slices"

	"tidemark/server/record"
)

// Served tells where one pouch can be sealed. The lists hold sealers in the order
// that they were given in.
type Served struct {
	Pouch      *Pouch
	Ready      []*Sealer // now
	Check      []*Sealer // after a check
	Changeover []Wait    // after a changeover and a check
	Out        []*Sealer // out of service, or with clinical engineering
	Unapproved []*Sealer // no approved setting stands
}

// Wait is a sealer and the minutes until a check on it makes sense.
type Wait struct {
	Sealer  *Sealer
	Minutes int
}

// How urgent it is that somebody makes a sealer ready for a pouch.
const (
	CannotSeal = iota // nothing can seal it, whatever is done at the bench
	NoneReady         // a check or a changeover is needed first
	SomeReady
)

// Urgency is CannotSeal, NoneReady or SomeReady.
func (s *Served) Urgency() int {
	switch {
	case len(s.Ready) > 0:
		return SomeReady
	case len(s.Check)+len(s.Changeover) > 0:
		return NoneReady
	}
	return CannotSeal
}

// WhichSealer answers "which sealer for which pouch" for the pouches in use, those
// that nothing can seal first. Standing is that of each sealer at now; retired
// sealers are left out by the caller.
func WhichSealer(v record.View, d *Department, sealers []*Sealer, standing []record.Readiness, now record.Time) []Served {
	var list []Served
	index := make(map[record.ID]int, len(d.Pouches))
	for _, id := range d.Pouches {
		if p := GetPouch(v, id); p != nil && !p.Retired {
			index[id] = len(list)
			list = append(list, Served{Pouch: p})
		}
	}
	day, approved, known := d.Day(now), make([]bool, len(list)), changes{}
	for i, s := range sealers {
		clear(approved)
		from, _ := s.Approval(v, standing[i].Pouch, day)
		plan := s.plan(d)
		for k := range s.Approvals {
			a := &s.Approvals[k]
			if at, used := index[a.Pouch]; used && s.against(a, list[at].Pouch, day) == "" {
				approved[at] = true
				if list[at].add(s, standing[i], now) {
					continue
				}
				list[at].Changeover = append(list[at].Changeover, Wait{s, known.minutes(s.Type, plan, from, a)})
			}
		}
		for at := range list {
			if !approved[at] {
				list[at].Unapproved = append(list[at].Unapproved, s)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Served) int { return cmp.Compare(a.Urgency(), b.Urgency()) })
	return list
}

// changes are the minutes of changeovers that were worked out: many sealers are
// approved at the same few values.
type changes map[change]int

type change struct {
	kind                     record.SealerType
	from, fromUnit, to, unit string
}

func (known changes) minutes(kind record.SealerType, p record.Plan, from, to *Approval) int {
	key := change{kind: kind, to: to.Value, unit: to.Unit}
	if from != nil {
		key.from, key.fromUnit = from.Value, from.Unit
	}
	n, ok := known[key]
	if !ok {
		n = changeMinutes(p, from, to)
		known[key] = n
	}
	return n
}

// add files a sealer with an approval that stands under what it needs first, false
// if that is a changeover.
func (to *Served) add(s *Sealer, st record.Readiness, now record.Time) bool {
	switch mine := st.Pouch == to.Pouch.ID; {
	case st.State == record.OutOfService || st.State == record.WithEngineering:
		to.Out = append(to.Out, s)
	case st.State == record.Ready && mine:
		to.Ready = append(to.Ready, s)
	case st.State == record.CheckDue && (mine || st.Pouch.IsZero() || len(s.Approvals) == 1):
		to.Check = append(to.Check, s)
	case st.State == record.NotReady && mine:
		to.Changeover = append(to.Changeover, Wait{s, int(st.Until.Sub(now).Minutes()) + 1})
	default:
		return false
	}
	return true
}
