package sealing

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"

	"tidemark/server/fault"
)

// Quantity is a number with its unit, exactly as a person gave it. The zero
// Quantity means that nothing was typed.
type Quantity struct {
	Value Decimal `json:"value"`
	Unit  Unit    `json:"unit"`
}

// ParseQuantity reads "180", "180 °F", "6 1/2", "0.8 s" or "1,5 N/15 mm". A
// bare number is in the assumed unit; a typed unit may be any of the same
// dimension ("180 °F" where Celsius was assumed). Anything else is a
// [fault.Invalid].
func ParseQuantity(typed string, assumed Unit) (Quantity, error) {
	number, suffix := typed, ""
	if i := strings.IndexFunc(typed, startsUnit); i >= 0 {
		number, suffix = typed[:i], typed[i:]
	}
	unit := assumed
	if suffix != "" {
		var ok bool
		if unit, ok = UnitNamed(suffix); !ok || unit.Dimension() != assumed.Dimension() {
			return Quantity{}, wrongUnit(typed, assumed)
		}
	}
	value, err := ParseDecimal(number)
	if err != nil {
		return Quantity{}, err
	}
	return Quantity{Value: value, Unit: unit}, nil
}

// startsUnit reports whether r can only belong to a unit: a letter, a degree
// sign or one of the ready-made symbols.
func startsUnit(r rune) bool {
	return unicode.IsLetter(r) || r == '˚' || unicode.Is(unicode.So, r)
}

func wrongUnit(typed string, assumed Unit) error {
	if assumed == Mark {
		return fault.New(fault.Invalid, "%s: type the mark alone, like 6 1/2.", quote(typed))
	}
	return fault.New(fault.Invalid, "%s is not %s. Type it in %s.",
		quote(strings.TrimSpace(typed)), assumed.Dimension(), assumed.Symbol())
}

// Q makes a Quantity from its two stored texts. It refuses what ParseDecimal
// refuses and a unit that is not known.
func Q(value string, unit Unit) (Quantity, error) {
	if !unit.Known() {
		return Quantity{}, fault.New(fault.Invalid, "%s is not a unit known here.",
			quote(string(unit)))
	}
	v, err := ParseDecimal(value)
	if err != nil {
		return Quantity{}, err
	}
	return Quantity{Value: v, Unit: unit}, nil
}

// Missing reports that nothing was typed.
func (q Quantity) Missing() bool { return q.Value.Missing() }

// String returns the quantity as a person reads it: "180 °F", "7½", "0.8 s".
func (q Quantity) String() string {
	if q.Unit == Mark {
		return q.Value.Dial()
	}
	return strings.TrimSpace(q.Value.String() + " " + q.Unit.Symbol())
}

// Exact returns the value in another unit of the same dimension, as an exact
// fraction: 250 °F is 1090/9 °C.
func (q Quantity) Exact(to Unit) (*big.Rat, error) {
	from, into, err := q.measures(to)
	if err != nil {
		return nil, err
	}
	r := q.Value.Rat()
	r.Sub(r, from.zero).Mul(r, from.scale)
	return r.Quo(r, into.scale).Add(r, into.zero), nil
}

// ExactDifference returns the value, taken as a difference, in another unit of
// the same dimension: a difference of 9 °F is one of 5 °C. Uncertainties,
// accuracies, offsets and tolerances are differences.
func (q Quantity) ExactDifference(to Unit) (*big.Rat, error) {
	from, into, err := q.measures(to)
	if err != nil {
		return nil, err
	}
	r := q.Value.Rat()
	return r.Mul(r, from.scale).Quo(r, into.scale), nil
}

// measures looks up both units. A mismatch is a programmer's mistake: what
// people type is checked by ParseQuantity.
func (q Quantity) measures(to Unit) (from, into measure, err error) {
	from, into = units[q.Unit], units[to]
	if !q.Unit.Known() || from.dimension != into.dimension {
		return from, into, fmt.Errorf("convert %s to %s: not the same dimension", q.Unit, to)
	}
	return from, into, nil
}

// In returns the value in another unit of the same dimension as the nearest
// float64, for predictions.
func (q Quantity) In(to Unit) (float64, error) { return nearest(q.Exact(to)) }

// DifferenceIn is In for a difference.
func (q Quantity) DifferenceIn(to Unit) (float64, error) { return nearest(q.ExactDifference(to)) }

func nearest(r *big.Rat, err error) (float64, error) {
	if err != nil {
		return 0, err
	}
	f, _ := r.Float64()
	return f, nil
}

// Cmp returns -1, 0 or +1 as q is below, equal to or above p, whatever units of
// one dimension they were typed in: 356 °F equals 180 °C.
func (q Quantity) Cmp(p Quantity) (int, error) {
	a, err := q.Exact(p.Unit)
	if err != nil {
		return 0, err
	}
	return a.Cmp(p.Value.Rat()), nil
}

// Same reports whether q and p are the same value of the same dimension. Two
// missing quantities are the same.
func (q Quantity) Same(p Quantity) bool {
	if q.Missing() || p.Missing() {
		return q.Missing() && p.Missing()
	}
	c, err := q.Cmp(p)
	return err == nil && c == 0
}
