package sealing

import (
	"fmt"
	"math/big"
)

// CompareShown warns when what the display shows, after settling, differs from
// what is set by more than the tolerance, a difference. Set, shown and measured
// are three things: this compares the first two and says nothing of the face.
// It is nil when they agree or one was not read.
func CompareShown(set, shown, tolerance Quantity) (*Warning, error) {
	if set.Missing() || shown.Missing() {
		return nil, nil
	}
	differs, err := Differs(set, shown, tolerance)
	if err != nil || !differs {
		return nil, err
	}
	return &Warning{NotAsSet, fmt.Sprintf(
		"The display shows %s, but %s is set. Wait until it has settled, or have it looked at.",
		shown, set)}, nil
}

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

// DisplayOffset returns by how much the face is hotter than the display says,
// as a difference in the display's scale, rounded to a hundredth: shown 180,
// measured 173 is -7.
func DisplayOffset(shown, face Quantity) (Quantity, error) {
	f, err := face.Exact(shown.Unit)
	if err != nil {
		return Quantity{}, err
	}
	d, _ := f.Sub(f, shown.Value.Rat()).Float64()
	return Quantity{Value: Rounded(d, 2), Unit: shown.Unit}, nil
}
