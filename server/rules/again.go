package rules

import (
	"time"
)

// againWithin is how long an earlier fault at the same place counts.
const againWithin = 30 * 24 * time.Hour

// SamePlaceAgain reports whether an earlier problem lies within 30 days and
// within 3 cm of p, or in the same third of the bar where no distance is known.
// Places come from test pouches laid at known marks or stated at the bar.
func SamePlaceAgain(p, earlier *Problem) bool {
	if earlier.allGone() || earlier.ID == p.ID || earlier.OpenedAt > p.OpenedAt || p.OpenedAt.Sub(earlier.OpenedAt) > againWithin {
		return false
	}
	return samePlace(FaultFact{Place: earlier.Place, AtCM: earlier.AtCM}, FaultFact{Place: p.Place, AtCM: p.AtCM})
}

// Mended is what became of a repair.
type Mended string

const (
	MendedSoFar  Mended = "so-far"    // nothing since
	MendedNot    Mended = "not"       // the same place again
	MendedOther  Mended = "elsewhere" // a fault since, at another place: another story
	MendedUnsaid Mended = ""          // not back in service, or the place is not known
)

// RepairHeld tells whether the repair that ended p held, from the sealer's later
// problems in their order, and the first of them that says so.
func RepairHeld(p *Problem, later []*Problem) (Mended, *Problem) {
	if p.Returned == 0 || p.HandedBack == 0 {
		return MendedUnsaid, nil
	}
	var other *Problem
	for _, o := range later {
		switch {
		case !o.NeedsEngineering() || o.OpenedAt < p.Returned || o.allGone():
		case samePlace(FaultFact{Place: o.Place, AtCM: o.AtCM}, FaultFact{Place: p.Place, AtCM: p.AtCM}):
			return MendedNot, o
		case other == nil:
			other = o
		}
	}
	if other != nil {
		return MendedOther, other
	}
	return MendedSoFar, nil
}
