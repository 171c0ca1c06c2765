package rules

import "time"

// againWithin is how long an earlier fault counts: for one at the same place, and
// for a mend that is taken to answer it.
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
