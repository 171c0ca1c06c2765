package sealing

import (
	"fmt"
	"math"
)

// Degrees returns a temperature, given in degrees Celsius, in the scale that a
// reader chose, to a tenth: "181.3 °C".
func Degrees(celsius float64, scale Unit) string {
	if scale == Fahrenheit {
		celsius = celsius*9/5 + 32
	}
	return fmt.Sprintf("%.1f %s", celsius, scale.Symbol())
}

// Difference returns a difference of temperature, given in degrees Celsius, in
// the scale that a reader chose, rounded up to a tenth: "± 5.8 °C" reads no
// better than it is.
func Difference(celsius float64, scale Unit) string {
	if scale == Fahrenheit {
		celsius = celsius * 9 / 5
	}
	return fmt.Sprintf("%.1f %s", math.Ceil(celsius*10-1e-6)/10, scale.Symbol())
}

// Text returns the range in the scale that a reader chose: "120.0 °C to 130.0 °C".
func (l Limits) Text(scale Unit) string {
	return Degrees(l.Low, scale) + " to " + Degrees(l.High, scale)
}

// Percent returns a probability in words that never claim certainty: "98.2 %",
// "more than 99.9 %", "less than 0.1 %".
func Percent(p float64) string {
	switch {
	case p > 0.999:
		return "more than 99.9 %"
	case p < 0.001:
		return "less than 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", p*100)
}

// Sentence says what the proposal means, in the scale that a reader chose.
func (p Proposal) Sentence(scale Unit) string {
	at := fmt.Sprintf("At %s the face is at %s ± %s%s", p.Position,
		Degrees(p.Worst.T, scale), Difference(p.Worst.Expanded(), scale), where(p.Worst.Place))
	window := p.limits.Text(scale)
	chance := Percent(p.Worst.Probability())
	switch p.Verdict {
	case NotKnown:
		return fmt.Sprintf("%s: within %s with a probability of only %s. This is not known well "+
			"enough; measured to ± %s it could be.", at, window, chance, floor(2*p.WouldDo, scale))
	case OutOfReach:
		return fmt.Sprintf("%s, and no position comes nearer to %s at every place. "+
			"Use another sealer for this pouch.", at, window)
	}
	return fmt.Sprintf("%s: within %s with a probability of %s.", at, window, chance)
}

// where names the place that decides, if the bar was measured by places.
func where(p Place) string {
	if p == WholeBar {
		return ""
	}
	return " at the " + string(p) + ", the place farthest off"
}

// floor is Difference rounded down: an uncertainty that would do must not be
// rounded past what does.
func floor(celsius float64, scale Unit) string {
	if scale == Fahrenheit {
		celsius = celsius * 9 / 5
	}
	return fmt.Sprintf("%.1f %s", math.Floor(celsius*10)/10, scale.Symbol())
}
