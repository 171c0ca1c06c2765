package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

// Source: NIST StRD, Norris, certified values.
func TestLineAgreesWithNorrisToNineDigits(t *testing.T) {
	d := reference(t, "norris.csv")
	require.Len(t, d["x"], 36)
	l, err := stats.FitLine(d["x"], d["y"], nil)
	require.NoError(t, err)
	requireDigits(t, -0.262323073774029, l.A, 9, "B0")
	requireDigits(t, 1.00211681802045, l.B, 9, "B1")
	requireDigits(t, 0.232818234301152, l.SdA, 9, "sd of B0")
	requireDigits(t, 0.429796848199937e-03, l.SdB, 9, "sd of B1")
	requireDigits(t, 0.884796396144373, l.S, 9, "residual sd")
	requireDigits(t, 0.999993745883712, l.R2, 9, "R2")
	requireDigits(t, 5436385.54079785, l.F, 9, "F")
}

// Source: JCGM 100:2008, H.3.3 and H.3.4, to the digits printed there.
func TestLineAgreesWithTheThermometerOfTheGUM(t *testing.T) {
	d := reference(t, "thermometer.csv")
	for i := range d["t"] {
		d["t"][i] -= 20
	}
	l, err := stats.FitLine(d["t"], d["correction"], nil)
	require.NoError(t, err)
	require.InDelta(t, -0.1712, l.A, 5e-5)
	require.InDelta(t, 0.0029, l.SdA, 5e-5)
	require.InDelta(t, 0.00218, l.B, 5e-6)
	require.InDelta(t, 0.00067, l.SdB, 5e-6)
	require.InDelta(t, 0.0035, l.S, 5e-5)
	require.InDelta(t, -0.1494, l.At(10), 5e-5)
	// The example's u is that of the line; Spread adds one observation's s.
	require.InDelta(t, 0.0041, math.Sqrt(l.Spread(10)*l.Spread(10)-l.S*l.S), 5e-5)
}

// Source: D. Harvey, Modern Analytical Chemistry, Example 5.13. The book works
// with sums rounded to four places, of which sum(w x²) = 0.0499 alone moves the
// slope by 0.3 %, and its intercept with it: the slope is held to that, and both
// to what QR finds.
func TestWeightedLineAgreesWithAWorkedExample(t *testing.T) {
	d := reference(t, "weighted.csv")
	l, err := stats.FitLine(d["x"], d["y"], d["s"])
	require.NoError(t, err)
	require.InEpsilon(t, 122.985, l.B, 0.003)
	a, b := solveNormalEquations(d["x"], d["y"], d["s"])
	requireDigits(t, b, l.B, 10, "slope")
	requireDigits(t, a, l.A, 9, "intercept")
}

// The weighted line is what QR finds for the rows divided by their u.
func TestWeightedLineAgreesWithAnotherMethod(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "n")
		var x, y, u []float64
		for i := range n {
			x = append(x, float64(i)+rapid.Float64Range(0, 0.5).Draw(t, "x"))
			y = append(y, rapid.Float64Range(100, 250).Draw(t, "y"))
			u = append(u, rapid.Float64Range(0.1, 5).Draw(t, "u"))
		}
		l, err := stats.FitLine(x, y, u)
		if err != nil {
			t.Fatal(err)
		}
		a, b := solveNormalEquations(x, y, u)
		if math.Abs(a-l.A) > 1e-7 || math.Abs(b-l.B) > 1e-8 {
			t.Fatalf("%g + %g x, QR says %g + %g x", l.A, l.B, a, b)
		}
	})
}

func solveNormalEquations(x, y, u []float64) (a, b float64) {
	rows, right := mat.NewDense(len(x), 2, nil), mat.NewVecDense(len(x), nil)
	for i := range x {
		rows.SetRow(i, []float64{1 / u[i], x[i] / u[i]})
		right.SetVec(i, y[i]/u[i])
	}
	var qr mat.QR
	qr.Factorize(rows)
	var solution mat.VecDense
	if err := qr.SolveVecTo(&solution, false, right); err != nil {
		panic(err)
	}
	return solution.AtVec(0), solution.AtVec(1)
}

func TestEqualUncertaintiesAreNoWeights(t *testing.T) {
	x, y := []float64{4, 5, 6, 7}, []float64{150, 161, 168, 180}
	plain, err := stats.FitLine(x, y, nil)
	require.NoError(t, err)
	same, err := stats.FitLine(x, y, []float64{3, 3, 3, 3})
	require.NoError(t, err)
	require.InDelta(t, plain.Spread(6.5), same.Spread(6.5), 1e-12)
	require.InDelta(t, plain.At(6.5), same.At(6.5), 1e-12)
}

func TestLineRefusesWhatHasNoLine(t *testing.T) {
	for name, c := range map[string][3][]float64{
		"one point":        {{1}, {1}, nil},
		"one position":     {{2, 2}, {1, 3}, nil},
		"lengths differ":   {{1, 2}, {1, 2, 3}, nil},
		"u of zero":        {{1, 2}, {1, 2}, {1, 0}},
		"u not a number":   {{1, 2}, {1, 2}, {1, math.NaN()}},
		"u without bounds": {{1, 2}, {1, 2}, {1, math.Inf(1)}},
	} {
		_, err := stats.FitLine(c[0], c[1], c[2])
		require.Error(t, err, name)
	}
}

func TestTwoPointsSayNothingOfTheScatter(t *testing.T) {
	l, err := stats.FitLine([]float64{6, 7}, []float64{160, 180}, []float64{1, 2})
	require.NoError(t, err)
	require.InDelta(t, 170, l.At(6.5), 1e-9)
	require.Zero(t, l.DF())
	require.Zero(t, l.Spread(6.5))
}

// Source: NIST/SEMATECH e-Handbook 4.6.1.5, straight line for the load cell; its
// residual sd and F are printed to more digits than their single precision
// carries.
func TestLackOfFitRejectsTheLineOfTheLoadCell(t *testing.T) {
	d := reference(t, "pontius.csv")
	l, err := stats.FitLine(d["load"], d["deflection"], nil)
	require.NoError(t, err)
	requireDigits(t, 0.614969e-02, l.A, 6, "B0")
	requireDigits(t, 0.722103e-06, l.B, 6, "B1")
	requireDigits(t, 0.0021712694, l.S, 6, "residual sd")
	m, err := stats.LackOfFit(l, d["load"], d["deflection"], nil)
	require.NoError(t, err)
	require.Equal(t, "F", m.Method)
	require.Equal(t, [2]int{18, 20}, [2]int{m.DF1, m.DF2})
	requireDigits(t, 214.7464, m.Statistic, 5, "lack-of-fit F")
	require.Less(t, m.P, 1e-10)
}

// Source: the 5 % point of chi² on 3 degrees of freedom is 7.815 in any table
// (e-Handbook 1.3.6.7.4).
func TestLackOfFitUsesTheUncertaintiesWhereNothingWasRepeated(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5}
	y := []float64{1, -2, 0, 2, -1} // residuals of the flat line with slope 0
	u := math.Sqrt(10 / 7.815)
	l, err := stats.FitLine(x, y, []float64{u, u, u, u, u})
	require.NoError(t, err)
	require.InDelta(t, 0, l.B, 1e-12)
	m, err := stats.LackOfFit(l, x, y, []float64{u, u, u, u, u})
	require.NoError(t, err)
	require.Equal(t, "chi²", m.Method)
	require.Equal(t, 3, m.DF1)
	require.InDelta(t, 7.815, m.Statistic, 1e-9)
	require.InDelta(t, 0.05, m.P, 1e-5) // 7.815 is rounded
}

func TestLackOfFitFallsBackWhenRepeatsAreIdentical(t *testing.T) {
	x, y := []float64{1, 1, 2, 3}, []float64{10.1, 10.1, 20, 31}
	u := []float64{0.7, 1.1, 1.3, 0.9} // unequal: rounding must not look like scatter
	l, err := stats.FitLine(x, y, u)
	require.NoError(t, err)
	m, err := stats.LackOfFit(l, x, y, u)
	require.NoError(t, err)
	require.Equal(t, "chi²", m.Method)
	_, err = stats.LackOfFit(l, x, y, nil)
	require.Error(t, err)
	_, err = stats.LackOfFit(l, []float64{1, 1, 2}, []float64{1, 1, 2}, nil)
	require.Error(t, err)
}
