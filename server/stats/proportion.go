package stats

import "math"

// AllPassed returns the failing share that n passes and no failure still allow
// at that confidence: 1 - (1-confidence)^(1/n), the exact bound of Clopper and
// Pearson for none in n. It is 1 for no passes.
func AllPassed(n int, confidence float64) float64 {
	if n < 1 {
		return 1
	}
	return -math.Expm1(math.Log1p(-confidence) / float64(n))
}
