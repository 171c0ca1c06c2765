package sealing

import (
	"errors"
	"fmt"

	"tidemark/server/fault"
)

// Table says what the positions of a control mean in degrees at the sealing
// face: from the maker's table, or measured with a reference instrument. It
// helps whoever approves a setting, and is compiled once into a [Curve].
type Table struct {
	Kind   Kind
	Apart  bool // each position stands alone, nothing lies between: a switch
	Points []Point
}

// Point is one temperature at the sealing face. Position is a mark, or what the
// display shows. Repeats at one position are points of their own.
type Point struct {
	Place       Place
	Position    Quantity
	Face        Quantity
	Uncertainty Uncertainty
}

// String names the point in a message.
func (p Point) String() string {
	if p.Place == WholeBar {
		return fmt.Sprintf("%s (%s)", p.Position, p.Face)
	}
	return fmt.Sprintf("%s %s (%s)", p.Position, p.Place, p.Face)
}

// Place is where on the bar, as you stand before it. Its text is stored in
// records.
type Place string

const (
	WholeBar Place = ""
	Left     Place = "left"
	Middle   Place = "middle"
	Right    Place = "right"
)

var places = []Place{WholeBar, Left, Middle, Right}

// Questions asks about what is odd but may be meant: temperatures that only
// make sense in the other scale, and two scales in one table.
func (t Table) Questions() []Warning {
	var faces []Quantity
	for _, p := range t.Points {
		faces = append(faces, p.Face)
	}
	return questionScales(faces...)
}

// reading is a Point in degrees Celsius; x is a mark, or the shown temperature.
type reading struct {
	Point
	x, t, u float64
}

// readings checks every point by itself and sorts them by place. Faults point
// at "points.N.field", N counting from 1.
func (t Table) readings() (map[Place][]reading, error) {
	byPlace := make(map[Place][]reading)
	for i, p := range t.Points {
		r, err := t.reading(p)
		if err != nil {
			return nil, atPoint(i, p, err)
		}
		byPlace[p.Place] = append(byPlace[p.Place], r)
	}
	return byPlace, nil
}

func (t Table) reading(p Point) (r reading, err error) {
	r.Point = p
	if r.x, err = t.Kind.position(p.Position); err != nil {
		return r, err
	}
	if r.t, err = temperature("face", p.Face); err != nil {
		return r, err
	}
	r.u, err = p.Uncertainty.Celsius()
	return r, err
}

// position returns a position of the control as a number: the mark, or what the
// display shows in degrees Celsius.
func (k Kind) position(q Quantity) (float64, error) {
	base := Mark
	if k != DialBar {
		base = Celsius
	}
	if q.Missing() || q.Unit.Dimension() != base.Dimension() {
		return 0, fault.Field("position", "Type the position as %s.", base.Dimension())
	}
	return q.In(base)
}

// atPoint says in a fault which point it is about.
func atPoint(i int, p Point, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return fmt.Errorf("read point %d: %w", i+1, err)
	}
	field := fmt.Sprintf("points.%d.%s", i+1, f.Field)
	return fault.Field(field, "Point %d, %s: %s", i+1, p, f.Message)
}
