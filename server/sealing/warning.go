package sealing

import (
	"fmt"
	"math/big"
)

// Warning is something a person should look at before going on. It refuses
// nothing; whoever reads it may answer "it is meant so".
type Warning struct {
	Code    WarningCode
	Message string // one or two plain sentences, fit for a page
}

// WarningCode is the kind of a Warning, as programs see it. Add codes, never
// change one.
type WarningCode string

const (
	UnitMixUp WarningCode = "unit-mix-up" // a temperature that only makes sense in the other scale
	TwoScales WarningCode = "two-scales"  // °C and °F in one table or window
	NoLowEnd  WarningCode = "no-low-end"  // a ladder began with a step that passed
	NoHighEnd WarningCode = "no-high-end" // a ladder ended before a seal burned
	OneStep   WarningCode = "one-step"    // only one step of a ladder passed
	FewStrips WarningCode = "few-strips"  // few strips make for a wide bound
)

// The range in which a temperature typed for a heat sealer makes sense. Common
// practice of the trade, no source: pouches seal between about 120 and 200 °C.
// It only serves to notice a mix-up of scales.
var lowestSense, highestSense = rat("110"), rat("240")

// QuestionScale asks whether the scale of a typed temperature is right: it is
// nil unless the number makes no sense as typed and does in the other scale
// (356 °C, 180 °F).
func QuestionScale(q Quantity) *Warning {
	other := map[Unit]Unit{Celsius: Fahrenheit, Fahrenheit: Celsius}[q.Unit]
	swapped := Quantity{Value: q.Value, Unit: other}
	if makesSense(q) || !makesSense(swapped) {
		return nil
	}
	in, _ := swapped.In(q.Unit) // same dimension: cannot fail
	return &Warning{UnitMixUp, fmt.Sprintf("%s is not a sealing temperature. Is %s meant (%s)?",
		q, swapped, Quantity{Value: Rounded(in, 0), Unit: q.Unit})}
}

func makesSense(q Quantity) bool {
	c, err := q.Exact(Celsius)
	return err == nil && within(c, lowestSense, highestSense)
}

func within(x, low, high *big.Rat) bool { return x.Cmp(low) >= 0 && x.Cmp(high) <= 0 }
