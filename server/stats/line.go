package stats

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Line is the straight line y = A + B x, fitted by weighted least squares.
//
// The weights 1/u² are scaled to a mean of 1, so that a line through points of
// one and the same uncertainty is the ordinary one. Sources: NIST/SEMATECH
// e-Handbook 4.1.4.3 (weighted least squares) and 2.3.6 (prediction); JCGM
// 100:2008 H.3.
type Line struct {
	N        int
	A, B     float64 // in units of y, and of y per x
	SdA, SdB float64 // standard deviations of A and B; 0 when N is 2
	S        float64 // residual standard deviation on N-2; 0 when N is 2
	R2, F    float64 // share of the variance explained; F ratio on 1 and N-2
	MeanX    float64 // weighted
	Sxx      float64 // weighted, about MeanX
}

// FitLine fits a line to the points (x, y) of standard uncertainties u > 0; u
// nil means that all are alike. It needs two points at different x.
func FitLine(x, y, u []float64) (Line, error) {
	w, err := weights(x, y, u)
	if err != nil {
		return Line{}, err
	}
	if slices.Max(x) == slices.Min(x) {
		return Line{}, errors.New("fit line: all points are at one position")
	}
	l := Line{N: len(x), MeanX: stat.Mean(x, w)}
	l.A, l.B = stat.LinearRegression(x, y, w, false)
	meanY := stat.Mean(y, w)
	var residual, total float64
	for i := range x {
		l.Sxx += weight(w, i) * square(x[i]-l.MeanX)
		residual += weight(w, i) * square(y[i]-l.At(x[i]))
		total += weight(w, i) * square(y[i]-meanY)
	}
	if l.N > 2 {
		l.S = math.Sqrt(residual / float64(l.N-2))
		l.SdB = l.S / math.Sqrt(l.Sxx)
		l.SdA = l.S * math.Sqrt(1/float64(l.N)+square(l.MeanX)/l.Sxx)
	}
	l.R2 = 1 - residual/total
	l.F = l.B * l.B * l.Sxx / (l.S * l.S)
	return l, nil
}

// At returns the height of the line at x.
func (l Line) At(x float64) float64 { return l.A + l.B*x }

// DF returns the degrees of freedom behind S: N-2.
func (l Line) DF() int { return l.N - 2 }

// Spread returns the standard deviation of one new observation at x about
// At(x): the scatter of the points and what is not known of the line itself.
func (l Line) Spread(x float64) float64 {
	return l.S * math.Sqrt(1+1/float64(l.N)+square(x-l.MeanX)/l.Sxx)
}

// weights checks the points and returns 1/u² scaled to a mean of 1, nil for
// points that are all alike.
func weights(x, y, u []float64) ([]float64, error) {
	if len(x) != len(y) || u != nil && len(u) != len(x) {
		return nil, errors.New("fit: x, y and u differ in length")
	}
	if len(x) < 2 {
		return nil, errors.New("fit: fewer than two points")
	}
	if u == nil {
		return nil, nil
	}
	w := make([]float64, len(u))
	for i, ui := range u {
		if !(ui > 0) || math.IsInf(ui, 1) {
			return nil, errors.New("fit: an uncertainty is not above zero")
		}
		w[i] = 1 / (ui * ui)
	}
	mean := stat.Mean(w, nil)
	for i := range w {
		w[i] /= mean
	}
	return w, nil
}

func weight(w []float64, i int) float64 {
	if w == nil {
		return 1
	}
	return w[i]
}

func square(x float64) float64 { return x * x }
