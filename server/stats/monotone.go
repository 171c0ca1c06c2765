package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/interp"
)

// Monotone is a smooth curve through all its points that never falls where they
// do not: Fritsch-Butland interpolation (SIAM J. Sci. Stat. Comput. 5 (1984)
// 300), by gonum.
type Monotone struct {
	curve interp.FritschButland
	n     int
	s     float64
}

// FitMonotone runs a curve through three or more points, x rising, y never
// falling.
func FitMonotone(x, y []float64) (*Monotone, error) {
	if len(x) != len(y) || len(x) < 3 {
		return nil, errors.New("fit curve: fewer than three points")
	}
	for i := 1; i < len(x); i++ {
		if !(x[i] > x[i-1] && y[i] >= y[i-1]) {
			return nil, errors.New("fit curve: points do not rise")
		}
	}
	m := &Monotone{n: len(x)}
	if err := m.curve.Fit(x, y); err != nil {
		return nil, err
	}
	return m, m.leaveOneOut(x, y)
}

// At returns the curve at x, which must lie between the first and last point.
func (m *Monotone) At(x float64) float64 { return m.curve.Predict(x) }

// DF returns the degrees of freedom behind Spread: the points between the ends.
func (m *Monotone) DF() int { return m.n - 2 }

// Spread returns the standard deviation, in units of y, of a new observation
// about the curve: the root mean square of what each point between the ends
// misses the curve through all the others by. It overstates, as the curve that
// is used has the point too.
func (m *Monotone) Spread() float64 { return m.s }

func (m *Monotone) leaveOneOut(x, y []float64) error {
	var sum float64
	for i := 1; i < len(x)-1; i++ {
		var c interp.FritschButland
		if err := c.Fit(without(x, i), without(y, i)); err != nil {
			return err
		}
		sum += square(y[i] - c.Predict(x[i]))
	}
	m.s = math.Sqrt(sum / float64(m.DF()))
	return nil
}

func without(v []float64, i int) []float64 {
	return append(append(make([]float64, 0, len(v)-1), v[:i]...), v[i+1:]...)
}

// PooledSD returns the common standard deviation of several groups about their
// own means, and its degrees of freedom; both are 0 without repeats.
func PooledSD(groups [][]float64) (s float64, df int) {
	var sum float64
	for _, g := range groups {
		mean := 0.0
		for _, v := range g {
			mean += v / float64(len(g))
		}
		for _, v := range g {
			sum += square(v - mean)
		}
		df += max(0, len(g)-1)
	}
	if df == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / float64(df)), df
}
