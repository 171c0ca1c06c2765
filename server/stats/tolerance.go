package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// furthest is the largest non-centrality for which gonum's series (AS 243) does
// not give way to a normal approximation: exp(-37²/2) is still a number. It is
// reached at 250 values for a share of 99 %, 500 for 95 %.
const furthest = 37

// ToleranceFactor returns k such that mean - k s of n normal values lies, with
// that confidence, below the share of all values: t'/sqrt(n) with the
// non-central t quantile on n-1 degrees of freedom and non-centrality z sqrt(n)
// (NIST/SEMATECH e-Handbook 7.2.6.3). It refuses fewer than two values, a share
// of one half or less, and more values than can be computed exactly.
func ToleranceFactor(n int, share, confidence float64) (float64, error) {
	if n < 2 || !(share > 0.5 && share < 1 && confidence > 0 && confidence < 1) {
		return 0, errors.New("factor tolerance: count, share or confidence out of range")
	}
	root := math.Sqrt(float64(n))
	delta := NormalQuantile(share) * root
	if delta > furthest {
		return 0, errors.New("factor tolerance: too many values")
	}
	t := distuv.NoncentralT{Nu: float64(n - 1), Mu: delta}.Quantile(confidence)
	if math.IsNaN(t) {
		return 0, errors.New("factor tolerance: no root found")
	}
	return t / root, nil
}
