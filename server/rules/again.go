package rules

import (
	"time"

	"tidemark/server/record"
	"tidemark/server/sealing"
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
	a, err1 := sealing.ParseQuantity(p.AtCM, sealing.Centimetres)
	b, err2 := sealing.ParseQuantity(earlier.AtCM, sealing.Centimetres)
	if p.AtCM != "" && earlier.AtCM != "" && err1 == nil && err2 == nil {
		x, _ := a.In(sealing.Centimetres)
		y, _ := b.In(sealing.Centimetres)
		return x-y <= 3 && y-x <= 3
	}
	return p.Place != record.NoPlace && p.Place != record.Whole && p.Place == earlier.Place
}
