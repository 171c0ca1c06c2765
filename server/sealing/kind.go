package sealing

import (
	"math/big"

	"tidemark/server/fault"
)

// Kind is how the heat of a sealer is set. Its text is stored in records: add
// kinds, never change a text.
type Kind string

const (
	DialBar    Kind = "bar-dial"        // constant-heat bar with a dial or switch
	DisplayBar Kind = "bar-display"     // constant-heat bar that shows its temperature
	ImpulseBar Kind = "impulse-timer"   // impulse bar; its dial is heating time
	Feed       Kind = "continuous-feed" // continuous-feed with temperature and speed
)

// kinds says of each kind how people call it and in what its heat can be set.
var kinds = map[Kind]struct {
	title    string
	settings []Unit
	table    bool
}{
	DialBar:    {"constant-heat bar, dial or switch", []Unit{Mark}, true},
	DisplayBar: {"constant-heat bar with display", []Unit{Celsius, Fahrenheit}, true},
	ImpulseBar: {"impulse bar with timer", []Unit{Mark, Seconds}, false},
	Feed:       {"continuous-feed sealer", []Unit{Celsius, Fahrenheit}, true},
}

// Known reports whether k is one of the kinds above.
func (k Kind) Known() bool { _, ok := kinds[k]; return ok }

// Title returns the kind as a page shows it.
func (k Kind) Title() string { return kinds[k].title }

// HasTable reports whether positions of the control mean degrees, so that a
// temperature table serves it. An impulse bar is proved by a ladder trial.
func (k Kind) HasTable() bool { return kinds[k].table }

// Units returns the units a setting of this kind can be in.
func (k Kind) Units() []Unit { return kinds[k].settings }

// maxPositions bounds the list of positions of one control.
const maxPositions = 1000

// Positions lists first, first+step, ... up to last: the marks and halves of a
// dial, or what a display can be set to. It refuses a step that is not above
// zero and more than 1000 positions.
func Positions(first, last, step Decimal) ([]Decimal, error) {
	if step.coef <= 0 || first.Cmp(last) > 0 {
		return nil, fault.Field("positions",
			"Give a first position, a last one above it and a step above zero.")
	}
	scale := max(first.scale, step.scale)
	var list []Decimal
	end, sum := last.Rat(), first.Rat()
	for ; sum.Cmp(end) <= 0; sum.Add(sum, step.Rat()) {
		if len(list) == maxPositions {
			return nil, fault.Field("positions", "That is more than %d positions.", maxPositions)
		}
		list = append(list, finite(sum, scale))
	}
	return list, nil
}

// finite makes the Decimal of a sum whose terms have at most scale places.
func finite(r *big.Rat, scale int) Decimal {
	scaled := new(big.Rat).Mul(r, big.NewRat(pow10(scale), 1))
	d := makeDecimal("", "", scaled.Num().Int64(), scale)
	d.text = d.Canonical()
	return d
}
