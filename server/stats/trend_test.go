package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/combin"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

func TestMannKendallAgreesWithWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		source string
		values []float64
		s      int
		p      float64 // two-sided
		within float64
	}{
		// From memory; the one-sided table value is 0.167.
		{"Gilbert 1987, 16.4.1", []float64{10, 15, 14, 20}, 4, 2 * .167, 1e-3},
		// From memory; the one-sided table value is 0.117.
		{"US EPA QA/G-9, trend box", []float64{5, 6, 11, 8, 10}, 6, 2 * .117, 1e-3},
		// From memory: the reference manual of R, cor.test (Hollander and
		// Wolfe, p. 185 f.), sorted by the first variable: T = 26, p = 0.1194.
		{"R cor.test", []float64{2.5, 4.0, 2.6, 3.6, 2.8, 3.1, 5.2, 5.0, 3.8}, 16, .1194, 5e-5},
		// S as published, with one tie. By hand: of the 60 different orders, 10
		// have at most 2 rising pairs.
		{"Wisconsin NR 746, table A", []float64{100, 50, 85, 75, 50}, -5, 2 * 10. / 60, 1e-12},
	} {
		m, err := stats.TestTrend(c.values)
		require.NoError(t, err, c.source)
		require.Equal(t, c.s, m.S, c.source)
		require.True(t, m.Exact, c.source)
		require.InDelta(t, c.p, m.P, c.within, c.source)
	}
}

// P is the share of all orders whose |S| is as large: counted here one by one.
func TestMannKendallAgreesWithCountingAllOrders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SampledFrom([]float64{1, 2, 3, 4, 5})
		values := rapid.SliceOfN(value, 3, 6).Draw(t, "values")
		m, err := stats.TestTrend(values)
		if err != nil {
			t.Fatal(err)
		}
		var beyond, all float64
		order := make([]float64, len(values))
		for _, p := range combin.Permutations(len(values), len(values)) {
			for i, j := range p {
				order[i] = values[j]
			}
			other, _ := stats.TestTrend(order)
			all++
			if abs(other.S) >= abs(m.S) {
				beyond++
			}
		}
		if math.Abs(m.P-beyond/all) > 1e-12 {
			t.Fatalf("%v: P %g, counted %g", values, m.P, beyond/all)
		}
	})
}

func abs(n int) int { return max(n, -n) }

// Source: variance with ties, Gilbert 1987, equation 16.3, from memory; by hand
// for ten values with groups of 3, 2 and 4.
func TestMannKendallCorrectsTheVarianceForTies(t *testing.T) {
	m, err := stats.TestTrend([]float64{17, 14, 39, 16, 39, 14, 14, 39, 17, 39})
	require.NoError(t, err)
	require.InDelta(t, (2250.-3*2*11-2*1*9-4*3*13)/18, m.Var, 1e-12)
}

// Beyond 20 values the normal approximation takes over: at the seam it must
// agree with the exact answer to the third place.
func TestMannKendallNormalApproximationMeetsTheExactAnswer(t *testing.T) {
	rising := func(n int) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(i*7%n) + float64(i)/3
		}
		return v
	}
	exact, err := stats.TestTrend(rising(20))
	require.NoError(t, err)
	require.True(t, exact.Exact)
	z := (float64(abs(exact.S)) - 1) / math.Sqrt(exact.Var)
	require.InDelta(t, exact.P, 2*stats.Phi(-z), 2e-3)
	long, err := stats.TestTrend(rising(21))
	require.NoError(t, err)
	require.False(t, long.Exact)
	z = (float64(abs(long.S)) - 1) / math.Sqrt(long.Var)
	require.InDelta(t, 2*stats.Phi(-z), long.P, 1e-12)
}

// Source: Sen 1968, section 6: slope 4, limits 26/7 and 35/8 (the paper's own
// list of slopes has slips; the R package deming corrects them). Sen states 93 %
// for limits that hold P(|S| <= 13) = 97 %; at 93 % the exact ones are a slope
// further in.
func TestTheilSenAgreesWithSen(t *testing.T) {
	x := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	l, err := stats.TheilSen(x, y, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 4, l.B, 1e-12)
	require.InDelta(t, 6, l.A, 1e-12)
	require.InDelta(t, 26./7, l.Low, 1e-12)
	require.InDelta(t, 35./8, l.High, 1e-12)
	l, err = stats.TheilSen(x, y, 0.93)
	require.NoError(t, err)
	require.InDelta(t, 30./8, l.Low, 1e-12)
	require.InDelta(t, 46./11, l.High, 1e-12)
}

func TestTheilSenIsNotMovedByOneWildPoint(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6}
	l, err := stats.TheilSen(x, []float64{0, 2, 4, 600, 8, 10, 12}, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 2, l.B, 1e-12)
	require.InDelta(t, 0, l.A, 1e-12)
}

func TestTrendRefusesTooFewAndTimesThatDoNotRise(t *testing.T) {
	_, err := stats.TestTrend([]float64{1, 2})
	require.Error(t, err)
	_, err = stats.TheilSen([]float64{1, 2}, []float64{1, 2}, 0.95)
	require.Error(t, err)
	_, err = stats.TheilSen([]float64{1, 3, 3}, []float64{1, 2, 3}, 0.95)
	require.Error(t, err)
}

func TestTooFewPointsForALimitGiveTheWholeSpan(t *testing.T) {
	l, err := stats.TheilSen([]float64{0, 1, 2}, []float64{0, 1, 5}, 0.95)
	require.NoError(t, err)
	require.Equal(t, [2]float64{1, 4}, [2]float64{l.Low, l.High})
}
