package sealing

import "math/big"

// Differs reports whether two quantities of one dimension are further apart than
// the tolerance, a difference; a missing tolerance is none. It is exact: 185 °C
// is within 5 °C of 356 °F.
func Differs(a, b, tolerance Quantity) (bool, error) {
	x, err := b.Exact(a.Unit)
	if err != nil {
		return false, err
	}
	allowed := new(big.Rat)
	if !tolerance.Missing() {
		if allowed, err = tolerance.ExactDifference(a.Unit); err != nil {
			return false, err
		}
	}
	return x.Sub(x, a.Value.Rat()).Abs(x).Cmp(allowed) > 0, nil
}
