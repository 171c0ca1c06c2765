package sealing

import (
	"fmt"
	"slices"

	"tidemark/server/fault"
)

// Reference is where a figure stands in the instructions for use.
type Reference struct{ Document, Revision, Page string }

// Window is the range of sealing temperature that the IFU of one pouch gives,
// as written, at the dwell and pressure it states with it. Dwell and Pressure
// may be missing.
type Window struct {
	Pouch           string // as a page names it
	Low, High       Quantity
	Dwell, Pressure Quantity
	IFU             Reference
}

// Limits are a range of temperature at the sealing face, degrees Celsius.
type Limits struct{ Low, High float64 }

// Middle returns the middle of the range.
func (l Limits) Middle() float64 { return l.Low + (l.High-l.Low)/2 }

// Limits checks the window and returns its range in degrees Celsius. 356 °F and
// 180 °C give the very same number.
func (w Window) Limits() (Limits, error) {
	low, err := temperature("low", w.Low)
	if err != nil {
		return Limits{}, err
	}
	high, err := temperature("high", w.High)
	if err != nil {
		return Limits{}, err
	}
	if low >= high {
		return Limits{}, fault.Field("high", "The highest temperature must be above the lowest.")
	}
	return Limits{low, high}, nil
}

// Same reports whether w and o are the same range, whatever they were typed in.
func (w Window) Same(o Window) bool { return w.Low.Same(o.Low) && w.High.Same(o.High) }

// Questions asks whether the scale of a limit was mixed up.
func (w Window) Questions() []Warning { return questionScales(w.Low, w.High) }

// temperature returns q in degrees Celsius, or a fault that points at field.
func temperature(field string, q Quantity) (float64, error) {
	if q.Missing() || q.Unit.Dimension() != Temperature {
		return 0, fault.Field(field, "Type a temperature with its scale, °C or °F.")
	}
	return q.In(Celsius)
}

// Clash is the error of windows that no one temperature serves.
type Clash struct {
	Hot, Cool Window // the pouch that needs most heat, and the one that bears least
}

func (c *Clash) Error() string {
	return fmt.Sprintf("No one temperature serves both: %s needs at least %s, %s bears at most %s.",
		c.Hot.Pouch, c.Hot.Low, c.Cool.Pouch, c.Cool.High)
}

// Intersect returns the range that all windows share. If there is none, the
// error is a [*Clash] that names two of them; ranges that only touch clash.
func Intersect(windows ...Window) (Limits, error) {
	if len(windows) == 0 {
		return Limits{}, fault.New(fault.Invalid, "Name at least one pouch.")
	}
	limits := make([]Limits, len(windows))
	hot, cool := 0, 0
	for i, w := range windows {
		var err error
		if limits[i], err = w.Limits(); err != nil {
			return Limits{}, fmt.Errorf("read window of %s: %w", w.Pouch, err)
		}
		if limits[i].Low > limits[hot].Low {
			hot = i
		}
		if limits[i].High < limits[cool].High {
			cool = i
		}
	}
	shared := Limits{limits[hot].Low, limits[cool].High}
	if shared.Low >= shared.High {
		return Limits{}, &Clash{Hot: windows[hot], Cool: windows[cool]}
	}
	return shared, nil
}

// questionScales gathers the warnings of several temperatures, and one more if
// they are typed in different scales.
func questionScales(temperatures ...Quantity) (ws []Warning) {
	var scales []Unit
	for _, q := range temperatures {
		if w := QuestionScale(q); w != nil {
			ws = append(ws, *w)
		}
		if q.Unit.Dimension() == Temperature && !slices.Contains(scales, q.Unit) {
			scales = append(scales, q.Unit)
		}
	}
	if len(scales) > 1 {
		ws = append(ws, Warning{TwoScales,
			"Some temperatures are in °C and some in °F. Is that meant?"})
	}
	return ws
}
