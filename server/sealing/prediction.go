package sealing

import "tidemark/server/stats"

// Prediction is a temperature at the sealing face with its standard
// uncertainty, both in degrees Celsius.
type Prediction struct {
	Place Place
	T, U  float64
}

// Measured makes a Prediction of one temperature measured at the sealing face.
func Measured(place Place, face Quantity, u Uncertainty) (Prediction, error) {
	t, err := temperature("face", face)
	if err != nil {
		return Prediction{}, err
	}
	standard, err := u.Celsius()
	if err != nil {
		return Prediction{}, err
	}
	return Prediction{Place: place, T: t, U: standard}, nil
}

// Expanded returns the expanded uncertainty 2 U. That few points say little of
// their scatter is in U already.
func (p Prediction) Expanded() float64 { return 2 * p.U }

// Conformity is a Prediction held against a window.
type Conformity struct {
	Prediction
	Below, Above float64 // probability that the face is too cool, too hot
}

// Against returns how probable it is that the face is within the limits, both
// tails counted (JCGM 106:2012, 7.4).
func (p Prediction) Against(l Limits) Conformity {
	t := stats.Conformity(p.T, p.U, l.Low, l.High)
	return Conformity{Prediction: p, Below: t.Below, Above: t.Above}
}

// Probability returns the probability of conformity, 0 to 1.
func (c Conformity) Probability() float64 { return max(0, 1-c.Below-c.Above) }

// worst returns the place that decides: the one most probably outside, the
// first of equals.
func worst(cs []Conformity) Conformity {
	w := cs[0]
	for _, c := range cs[1:] {
		if c.Below+c.Above > w.Below+w.Above {
			w = c
		}
	}
	return w
}

// against holds every place against the limits.
func against(ps []Prediction, l Limits) []Conformity {
	cs := make([]Conformity, len(ps))
	for i, p := range ps {
		cs[i] = p.Against(l)
	}
	return cs
}

// WouldDo returns the greatest standard uncertainty at which a face temperature
// of t is within the limits with that probability; 0 when none is small enough,
// as t lies outside or on a limit.
func WouldDo(t float64, l Limits, probability float64) float64 {
	if !(t > l.Low && t < l.High) {
		return 0
	}
	enough := func(u float64) bool {
		return stats.Conformity(t, u, l.Low, l.High).Inside() >= probability
	}
	low, high := 0.0, 10*(l.High-l.Low)
	for range 60 {
		if mid := (low + high) / 2; enough(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
