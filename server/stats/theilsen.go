package stats

import (
	"errors"
	"slices"
)

// Slope is the Theil-Sen line: the median of the slopes of all pairs of points,
// which a few wild points hardly move (Sen, J. Am. Stat. Assoc. 63 (1968)
// 1379).
type Slope struct {
	B, A      float64 // slope; intercept, the median of y - B x
	Low, High float64 // confidence limits of the slope
}

// TheilSen fits points whose x rise. The limits hold the slopes that the
// Mann-Kendall test would not reject at 1-confidence: exact up to 20 points,
// normal beyond. It needs three points; with so few that no slope can be
// rejected, the limits are the least and the greatest slope of any pair.
func TheilSen(x, y []float64, confidence float64) (Slope, error) {
	if len(x) != len(y) || len(x) < 3 {
		return Slope{}, errors.New("fit trend: fewer than three points")
	}
	var slopes []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if !(x[j] > x[i]) {
				return Slope{}, errors.New("fit trend: times do not rise")
			}
			slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
		}
	}
	slices.Sort(slopes)
	t := Slope{B: median(slopes)}
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - t.B*x[i]
	}
	slices.Sort(rest)
	t.A = median(rest)
	out := rejectedBelow(newKendall(y), 1-confidence)
	t.Low, t.High = slopes[out], slopes[len(slopes)-1-out]
	return t, nil
}

// rejectedBelow returns how many of the sorted slopes lie outside the limits on
// either side: (pairs - c)/2, where c is the least S that the test rejects.
func rejectedBelow(k kendall, alpha float64) int {
	c := k.pairs
	for c >= 2 && k.twoSided(c-2) <= alpha {
		c -= 2
	}
	if k.twoSided(c) > alpha {
		return 0
	}
	return (k.pairs - c) / 2
}

// median of sorted values.
func median(sorted []float64) float64 {
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	return (sorted[n/2-1] + sorted[n/2]) / 2
}
