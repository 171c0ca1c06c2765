package stats

import (
	"errors"
	"math"
)

// exactUpTo is the longest series whose Mann-Kendall distribution is counted
// out: 20! is the last factorial that an int64 holds.
const exactUpTo = 20

// MannKendall is the test for a trend in either direction (Mann 1945, Kendall
// 1975; Gilbert, Statistical Methods for Environmental Pollution Monitoring,
// 1987, 16.4).
type MannKendall struct {
	N     int
	S     int     // rising pairs less falling pairs
	Var   float64 // of S without a trend, ties allowed for
	P     float64 // two-sided
	Exact bool    // P counted over all orders; else normal with continuity correction
}

// TestTrend tests values in order of time, each at a time of its own. Up to 20
// values P is exact, with ties too; beyond, it is the normal approximation with
// continuity correction and the variance corrected for ties. It needs three
// values.
func TestTrend(values []float64) (MannKendall, error) {
	if len(values) < 3 {
		return MannKendall{}, errors.New("test trend: fewer than three values")
	}
	k := newKendall(values)
	m := MannKendall{N: len(values), S: score(values), Var: k.variance(), Exact: k.exact()}
	m.P = k.twoSided(m.S)
	return m, nil
}

// score counts rising less falling pairs.
func score(values []float64) (s int) {
	for i, a := range values {
		for _, b := range values[i+1:] {
			switch {
			case b > a:
				s++
			case b < a:
				s--
			}
		}
	}
	return s
}

// kendall is the distribution of S when every order is equally likely.
type kendall struct {
	n      int
	ties   []int   // sizes of the groups of equal values above 1
	pairs  int     // of unequal values
	counts []int64 // orders with that many falling pairs; nil when not counted out
}

func newKendall(values []float64) kendall {
	k := kendall{n: len(values), pairs: len(values) * (len(values) - 1) / 2}
	sizes := make(map[float64]int)
	for _, v := range values {
		sizes[v]++
	}
	for _, t := range sizes {
		if t > 1 {
			k.ties = append(k.ties, t)
			k.pairs -= t * (t - 1) / 2
		}
	}
	if k.n <= exactUpTo {
		k.counts = orders(k.n, k.ties)
	}
	return k
}

// orders counts the orders of n values by their falling pairs. Without ties the
// counts are the coefficients of the product of 1+q+...+q^(i-1) for i up to n;
// a group of t equal values divides it by its own such product.
func orders(n int, ties []int) []int64 {
	counts := []int64{1}
	for i := 2; i <= n; i++ {
		counts = multiply(counts, i)
	}
	for _, t := range ties {
		for i := 2; i <= t; i++ {
			counts = divide(counts, i)
		}
	}
	return counts
}

// multiply multiplies a polynomial by 1+q+...+q^(i-1).
func multiply(p []int64, i int) []int64 {
	r := make([]int64, len(p)+i-1)
	for d, c := range p {
		for j := range i {
			r[d+j] += c
		}
	}
	return r
}

// divide undoes multiply; the division leaves no remainder.
func divide(p []int64, i int) []int64 {
	r := make([]int64, len(p)-i+1)
	for d := range r {
		r[d] = p[d]
		for j := 1; j < i && j <= d; j++ {
			r[d] -= r[d-j]
		}
	}
	return r
}

func (k kendall) exact() bool { return k.counts != nil }

func (k kendall) variance() float64 {
	v := func(n int) float64 { return float64(n * (n - 1) * (2*n + 5)) }
	sum := v(k.n)
	for _, t := range k.ties {
		sum -= v(t)
	}
	return sum / 18
}

// twoSided returns P(|S| >= |s|).
func (k kendall) twoSided(s int) float64 {
	s = max(s, -s)
	if s == 0 {
		return 1
	}
	if !k.exact() {
		return 2 * Phi(-(float64(s)-1)/math.Sqrt(k.variance()))
	}
	var beyond, all int64
	for falling, c := range k.counts {
		all += c
		if k.pairs-2*falling >= s {
			beyond += c
		}
	}
	return min(1, 2*float64(beyond)/float64(all))
}
