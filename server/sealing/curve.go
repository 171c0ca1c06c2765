package sealing

import (
	"math"
	"slices"

	"tidemark/server/fault"
)

// Curve is a compiled [Table]: it predicts the temperature at the sealing face
// for any position between the measured ones, place by place, and never beyond
// them. It is immutable and safe for concurrent use.
type Curve struct {
	kind   Kind
	places []placeCurve
}

// placeCurve is the curve of one place. Positions are numbers here: marks, or
// shown degrees Celsius.
type placeCurve struct {
	Fit
	xs, us  []float64 // the measured positions, rising, and the reference's u there
	model   model
	inflate float64 // what to multiply the model's spread by: few points know it badly
}

// model predicts a temperature and the standard deviation of a new observation
// about it, on so many degrees of freedom; 0 and 0 when the points say nothing
// of their scatter.
type model interface {
	at(x float64) (t, s float64)
	df() int
}

// Fits tells for each place, from left to right, how its curve was made.
func (c *Curve) Fits() []Fit {
	fits := make([]Fit, len(c.places))
	for i, p := range c.places {
		fits[i] = p.Fit
	}
	return fits
}

// Known reports whether a position was measured, or lies between measured ones,
// at every place.
func (c *Curve) Known(position Quantity) bool {
	x, err := c.kind.position(position)
	return err == nil && c.known(x)
}

func (c *Curve) known(x float64) bool {
	return !slices.ContainsFunc(c.places, func(p placeCurve) bool { return !p.covers(x) })
}

// At predicts the face temperature at a position, at every place. It refuses a
// position that is not [Curve.Known].
func (c *Curve) At(position Quantity) ([]Prediction, error) {
	x, err := c.kind.position(position)
	if err != nil {
		return nil, err
	}
	if !c.known(x) {
		return nil, c.beyond(position)
	}
	return c.at(x), nil
}

func (c *Curve) beyond(position Quantity) error {
	i := slices.IndexFunc(c.places, func(p placeCurve) bool {
		x, _ := c.kind.position(position)
		return !p.covers(x)
	})
	p := c.places[i]
	if p.Basis == EachPosition {
		return fault.Field("position",
			"%s was not measured, and nothing lies between positions here.", position)
	}
	return fault.Field("position", "%s lies outside what was measured, %s to %s.",
		position, p.First, p.Last)
}

func (c *Curve) at(x float64) []Prediction {
	ps := make([]Prediction, len(c.places))
	for i := range c.places {
		ps[i] = c.places[i].at(x)
	}
	return ps
}

func (p *placeCurve) covers(x float64) bool {
	if p.Basis == EachPosition {
		return slices.Contains(p.xs, x)
	}
	return x >= p.xs[0] && x <= p.xs[len(p.xs)-1]
}

// at joins the scatter of the points with the uncertainty of the reference,
// which is common to all points and so is not averaged away: at x it is that of
// the measured positions on either side.
func (p *placeCurve) at(x float64) Prediction {
	t, s := p.model.at(x)
	return Prediction{Place: p.Place, T: t, U: math.Hypot(p.inflate*s, between(p.xs, p.us, x))}
}

// between interpolates ys at x, which lies within xs.
func between(xs, ys []float64, x float64) float64 {
	i, found := slices.BinarySearch(xs, x)
	if found {
		return ys[i]
	}
	part := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + part*(ys[i]-ys[i-1])
}

// Sample is a prediction at a position given as a number: a mark, or shown
// degrees Celsius. It is what a picture of a curve is drawn from.
type Sample struct {
	X float64
	Prediction
}

// Samples returns the curve of a place at n positions evenly spread over what
// was measured, n at least 2; of a switch, at its positions. It is nil for a
// place that was not measured.
func (c *Curve) Samples(place Place, n int) []Sample {
	i := slices.IndexFunc(c.places, func(p placeCurve) bool { return p.Place == place })
	if i < 0 {
		return nil
	}
	p := &c.places[i]
	xs := p.xs
	if p.Basis != EachPosition {
		xs = evenly(p.xs[0], p.xs[len(p.xs)-1], max(n, 2))
	}
	samples := make([]Sample, len(xs))
	for i, x := range xs {
		samples[i] = Sample{x, p.at(x)}
	}
	return samples
}

func evenly(first, last float64, n int) []float64 {
	xs := make([]float64, n)
	for i := range xs {
		xs[i] = first + (last-first)*float64(i)/float64(n-1)
	}
	xs[n-1] = last
	return xs
}
