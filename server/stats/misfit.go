package stats

import (
	"errors"

	"gonum.org/v1/gonum/stat/distuv"
)

// Misfit is a test of whether a straight line is the right shape.
type Misfit struct {
	Method    string  // "F" against the scatter of repeats, "chi²" against the uncertainties
	Statistic float64 // F ratio or chi²
	DF1, DF2  int     // DF2 is 0 for chi²
	P         float64 // probability of a statistic this large when the line is right
}

// LackOfFit tests l against the points that it was fitted to. Where positions
// were measured more than once and the repeats differ, the F test compares the
// misfit with their scatter (NIST/SEMATECH e-Handbook 4.4.4.6); otherwise chi²
// compares the residuals with the uncertainties u, on N-2. It needs three
// positions, and repeats or u.
func LackOfFit(l Line, x, y, u []float64) (Misfit, error) {
	w, err := weights(x, y, u)
	if err != nil {
		return Misfit{}, err
	}
	positions, pure := pureError(x, y, w)
	if positions < 3 {
		return Misfit{}, errors.New("test fit: fewer than three positions")
	}
	if pure > 0 {
		return fTest(l, positions, pure), nil
	}
	if u == nil {
		return Misfit{}, errors.New("test fit: neither repeats nor uncertainties")
	}
	return chi2Test(l, x, y, u), nil
}

// fTest splits the residual sum of squares into what repeats explain and what
// they do not.
func fTest(l Line, positions int, pure float64) Misfit {
	misfit := l.S*l.S*float64(l.DF()) - pure
	m := Misfit{Method: "F", DF1: positions - 2, DF2: l.N - positions}
	m.Statistic = max(0, misfit) / float64(m.DF1) / (pure / float64(m.DF2))
	m.P = distuv.F{D1: float64(m.DF1), D2: float64(m.DF2)}.Survival(m.Statistic)
	return m
}

func chi2Test(l Line, x, y, u []float64) Misfit {
	m := Misfit{Method: "chi²", DF1: l.DF()}
	for i := range x {
		m.Statistic += square((y[i] - l.At(x[i])) / u[i])
	}
	m.P = distuv.ChiSquared{K: float64(m.DF1)}.Survival(m.Statistic)
	return m
}

// pureError counts the different positions and adds up the weighted squares of
// repeats about the weighted mean of their position. The means are taken from
// the first reading of a position, so that repeats which are alike add exactly
// nothing.
func pureError(x, y, w []float64) (positions int, sum float64) {
	type group struct{ first, w, wd float64 }
	groups := make(map[float64]group)
	for i := range x {
		g, ok := groups[x[i]]
		if !ok {
			g.first = y[i]
		}
		g.w += weight(w, i)
		g.wd += weight(w, i) * (y[i] - g.first)
		groups[x[i]] = g
	}
	for i := range x {
		g := groups[x[i]]
		sum += weight(w, i) * square(y[i]-g.first-g.wd/g.w)
	}
	return len(groups), sum
}
