package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"

	"tidemark/server/stats"
)

// Source: NIST/SEMATECH e-Handbook 7.2.6.3 (N 43, share .90, confidence .99:
// 1.8740) and published tables of one-sided 95/95 factors; recomputed to full
// precision.
func TestToleranceFactorAgreesWithTheTables(t *testing.T) {
	for _, c := range []struct {
		n                 int
		share, confidence float64
		want, within      float64
	}{
		{43, .90, .99, 1.87395360585, 1e-11},
		{6, .90, .99, 4.4110805724, 1e-10},
		{10, .95, .95, 2.91096341, 5e-9},
		{30, .95, .95, 2.21983753, 5e-9},
		{5, .95, .95, 4.203, 5e-4},  // from memory: Odeh and Owen 1980
		{20, .95, .95, 2.396, 5e-4}, // from memory: Odeh and Owen 1980
	} {
		k, err := stats.ToleranceFactor(c.n, c.share, c.confidence)
		require.NoError(t, err)
		require.InDelta(t, c.want, k, c.within, "n %d", c.n)
	}
}

// The normal approximation of the handbook is unsafe for few values: CHECK
// values 1.87518958128 at 43 and 5.28082735821 at 6, far from the exact ones.
func TestToleranceFactorIsNotTheNormalApproximation(t *testing.T) {
	approximate := func(n, share, confidence float64) float64 {
		zp, zg := stats.NormalQuantile(share), stats.NormalQuantile(confidence)
		a := 1 - zg*zg/(2*(n-1))
		b := zp*zp - zg*zg/n
		return (zp + math.Sqrt(zp*zp-a*b)) / a
	}
	require.InDelta(t, 1.87518958128, approximate(43, .90, .99), 1e-10)
	require.InDelta(t, 5.28082735821, approximate(6, .90, .99), 1e-10)
	k, err := stats.ToleranceFactor(6, .90, .99)
	require.NoError(t, err)
	require.Greater(t, math.Abs(k-5.28082735821), 0.8)
}

// Another road: P(T <= t) is the mean of Phi(t s - delta) over s, the square
// root of a chi² over its degrees of freedom.
func TestToleranceFactorAgreesWithTheIntegral(t *testing.T) {
	for _, n := range []int{2, 3, 4, 6, 15, 43, 120, 250} {
		for _, share := range []float64{.90, .95, .99} {
			for _, confidence := range []float64{.90, .95, .99} {
				k, err := stats.ToleranceFactor(n, share, confidence)
				require.NoError(t, err)
				root := math.Sqrt(float64(n))
				got := noncentral(k*root, float64(n-1), stats.NormalQuantile(share)*root)
				require.InDelta(t, confidence, got, 1e-11, "n %d share %g", n, share)
			}
		}
	}
}

func noncentral(t, df, delta float64) float64 {
	lnGamma, _ := math.Lgamma(df / 2)
	c := math.Ln2 + df/2*math.Log(df/2) - lnGamma
	f := func(s float64) float64 {
		density := math.Exp(c + (df-1)*math.Log(s) - df*s*s/2)
		return density * stats.Phi(t*s-delta)
	}
	reach := 12 / math.Sqrt(2*df)
	return quad.Fixed(f, max(0, 1-reach), 1+reach, 400, quad.Legendre{}, 1)
}

func TestToleranceFactorRefusesWhatItCannotServe(t *testing.T) {
	for name, c := range map[string]struct {
		n                 int
		share, confidence float64
	}{
		"one value":      {1, .95, .95},
		"half":           {10, .5, .95},
		"all":            {10, 1, .95},
		"certainty":      {10, .95, 1},
		"too many":       {600, .99, .95},
		"not a number":   {10, math.NaN(), .95},
		"no confidence":  {10, .95, 0},
		"no such number": {10, .95, math.NaN()},
	} {
		_, err := stats.ToleranceFactor(c.n, c.share, c.confidence)
		require.Error(t, err, name)
	}
}
