package sealing

import (
	"math"

	"tidemark/server/fault"
)

// Uncertainty is how well a temperature is known, in the way it was stated. Its
// Value is a difference: 9 °F is 5 °C.
type Uncertainty struct {
	Value  Quantity  `json:"value"`
	Stated Statement `json:"stated"`
}

// Statement is how an uncertainty was stated. Its text is stored in records.
type Statement string

const (
	Standard Statement = "standard" // a standard uncertainty u
	Expanded Statement = "expanded" // U on a certificate, k = 2: u = U/2
	Accuracy Statement = "accuracy" // limits ±a of a maker: u = a/sqrt(3), JCGM 100:2008, 4.3.7
)

// divisors turn each statement into a standard uncertainty.
var divisors = map[Statement]float64{Standard: 1, Expanded: 2, Accuracy: math.Sqrt(3)}

// Celsius returns the standard uncertainty in degrees Celsius. It refuses one
// that is missing, zero or below: nothing is known without doubt.
func (u Uncertainty) Celsius() (float64, error) {
	divisor, ok := divisors[u.Stated]
	if !ok || u.Value.Missing() || u.Value.Unit.Dimension() != Temperature {
		return 0, fault.Field("uncertainty",
			"Type how well the temperature is known, in °C or °F: the accuracy of the "+
				"reference instrument, or the uncertainty on its certificate.")
	}
	d, err := u.Value.DifferenceIn(Celsius)
	if err != nil {
		return 0, err
	}
	if d <= 0 {
		return 0, fault.Field("uncertainty",
			"No instrument is exact: the uncertainty must be above zero.")
	}
	return d / divisor, nil
}
