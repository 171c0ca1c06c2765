package stats_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

// Source: NIST/SEMATECH e-Handbook 7.2.4.1 for 4 in 20 (its text rounds the
// upper limit to 0.400, a slip); the rest Clopper-Pearson to full precision.
func TestClopperPearson(t *testing.T) {
	for _, c := range []struct {
		k, n            int
		confidence      float64
		wantLow, wantHi float64
	}{
		{4, 20, .90, .071353884308618, .40102811733197},
		{0, 10, .95, 0, .30849710781876},
		{1, 10, .95, .0025285785444618, .4450161170282},
		{0, 365, .95, 0, .010055619804413},
		{10, 10, .95, 1 - .30849710781876, 1},
	} {
		low, high, err := stats.ClopperPearson(c.k, c.n, c.confidence)
		require.NoError(t, err)
		require.InDelta(t, c.wantLow, low, 1e-13, "%d of %d", c.k, c.n)
		require.InDelta(t, c.wantHi, high, 1e-13, "%d of %d", c.k, c.n)
	}
}

// The bounds are where the binomial probability of the count, or of more, or of
// fewer, is what confidence leaves: another road to the same numbers.
func TestBoundsSolveTheBinomial(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 400).Draw(t, "n")
		k := rapid.IntRange(1, n-1).Draw(t, "k")
		high, err := stats.UpperBound(k, n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		low, err := stats.LowerBound(k, n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		atHigh := distuv.Binomial{N: float64(n), P: high}.CDF(float64(k))
		atLow := 1 - distuv.Binomial{N: float64(n), P: low}.CDF(float64(k-1))
		if d := max(atHigh-0.05, 0.05-atHigh, atLow-0.05, 0.05-atLow); d > 1e-9 {
			t.Fatalf("%d of %d: off by %g", k, n, d)
		}
	})
}

// Sources: e-Handbook 7.2.4.1 and the usual success-run tables: n for
// confidence/share 95/95 59, 95/99 299, 90/90 22.
func TestPassesNeeded(t *testing.T) {
	for _, c := range []struct {
		confidence, share float64
		want              int
	}{{.95, .95, 59}, {.95, .99, 299}, {.90, .90, 22}} {
		n, err := stats.PassesNeeded(c.confidence, c.share)
		require.NoError(t, err)
		require.Equal(t, c.want, n)
	}
}

func TestAllPassed(t *testing.T) {
	require.InDelta(t, .049507609888227, stats.AllPassed(59, .95), 1e-14)
	require.InDelta(t, .95, stats.AllPassed(1, .95), 1e-14, "one pass says little")
	require.Equal(t, 1.0, stats.AllPassed(0, .95), "none says nothing")
	upper, err := stats.UpperBound(0, 59, .95)
	require.NoError(t, err)
	require.Equal(t, stats.AllPassed(59, .95), upper)
}

func TestBoundsRefuseImpossibleCounts(t *testing.T) {
	for _, c := range [][2]int{{-1, 5}, {6, 5}, {0, 0}} {
		_, _, err := stats.ClopperPearson(c[0], c[1], .95)
		require.Error(t, err)
	}
	for _, share := range []float64{0, 1} {
		_, err := stats.UpperBound(1, 5, share)
		require.Error(t, err)
		_, err = stats.PassesNeeded(.95, share)
		require.Error(t, err)
		_, err = stats.PassesNeeded(share, .95)
		require.Error(t, err)
	}
}
