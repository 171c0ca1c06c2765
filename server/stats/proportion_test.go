package stats_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"tidemark/server/stats"
)

// Source: exact limits of Clopper and Pearson for none in n, two-sided 95 %, to
// full precision (0 in 10 and 0 in 365; NIST/SEMATECH e-Handbook 7.2.4.1 has the
// method). One side of them is one-sided 97.5 %.
func TestAllPassed(t *testing.T) {
	require.InDelta(t, .30849710781876, stats.AllPassed(10, .975), 1e-13)
	require.InDelta(t, .010055619804413, stats.AllPassed(365, .975), 1e-13)
	require.InDelta(t, .95, stats.AllPassed(1, .95), 1e-14, "one pass says little")
	require.Equal(t, 1.0, stats.AllPassed(0, .95), "none says nothing")
}

// Source: the usual success-run tables: that many passes without a failure show
// confidence/share 95/95, 95/99, 90/90, and one fewer does not.
func TestAllPassedMeetsTheSuccessRunTables(t *testing.T) {
	for _, c := range []struct {
		confidence, failing float64
		n                   int
	}{{.95, .05, 59}, {.95, .01, 299}, {.90, .10, 22}} {
		require.LessOrEqual(t, stats.AllPassed(c.n, c.confidence), c.failing)
		require.Greater(t, stats.AllPassed(c.n-1, c.confidence), c.failing)
	}
}

// The bound is where none in n has the probability that confidence leaves: another
// road to the same number.
func TestAllPassedSolvesTheBinomial(t *testing.T) {
	for n := 1; n <= 400; n++ {
		p := stats.AllPassed(n, .95)
		require.InDelta(t, .05, distuv.Binomial{N: float64(n), P: p}.CDF(0), 1e-12, n)
	}
}
