package stats_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

// Exact values by closed forms, agreeing with simulation.
func TestScanProbabilityExactValues(t *testing.T) {
	for _, c := range []struct {
		k, n    int
		w, want float64
		within  float64
	}{
		{4, 5, .1, .01622, 1e-12},
		{5, 8, .1, .01760114, 5e-9},
		{6, 10, .2, .1173342208, 5e-11},
		{4, 10, .1, .3405938998, 5e-11},
		{3, 10, .1, .9091156684, 5e-11}, // the usual approximation gives 1.2309
	} {
		s, err := stats.ScanProbability(c.k, c.n, c.w, 1)
		require.NoError(t, err)
		require.True(t, s.Exact)
		require.InDelta(t, c.want, s.P, c.within, "k %d n %d w %g", c.k, c.n, c.w)
	}
}

// Source: all n in one window, n w^(n-1) - (n-1) w^n: the range of n uniform
// values (Naus 1965; any text on order statistics).
func TestScanOfAllPointsIsTheRange(t *testing.T) {
	for _, w := range []float64{.1, .3, .5, .7, .95} {
		for n := 3; n <= 7; n++ {
			s, err := stats.ScanProbability(n, n, w, 1)
			require.NoError(t, err)
			want := float64(n)*math.Pow(w, float64(n-1)) - float64(n-1)*math.Pow(w, float64(n))
			require.True(t, s.Exact)
			require.InDelta(t, want, s.P, 1e-12, "n %d w %g", n, w)
		}
	}
}

// Thrown here with another generator, and compared within five standard errors.
func TestScanAgreesWithThrowingPoints(t *testing.T) {
	r := rand.New(rand.NewChaCha8([32]byte{7}))
	for _, c := range []struct {
		k, n int
		w    float64
	}{{2, 6, .05}, {3, 6, .15}, {3, 7, .3}, {4, 9, 1. / 3}, {5, 9, .6}, {3, 8, .4}, {4, 14, .07}} {
		const trials = 40_000
		hits := 0
		for range trials {
			points := make([]float64, c.n)
			for i := range points {
				points[i] = r.Float64()
			}
			slices.Sort(points)
			for i := range c.n - c.k + 1 {
				if points[i+c.k-1]-points[i] <= c.w {
					hits++
					break
				}
			}
		}
		s, err := stats.ScanProbability(c.k, c.n, c.w, 1)
		require.NoError(t, err)
		thrown := float64(hits) / trials
		bound := 5 * math.Sqrt(s.P*(1-s.P)/trials+s.StdErr*s.StdErr)
		require.InDelta(t, thrown, s.P, bound, "k %d n %d w %g", c.k, c.n, c.w)
	}
}

func TestScanOfCertainAndImpossibleCrowds(t *testing.T) {
	for _, c := range []struct {
		k, n int
		w, p float64
	}{{1, 3, .01, 1}, {3, 3, 1, 1}, {3, 9, 1.5, 1}, {4, 3, .9, 0}, {1, 0, .5, 0}} {
		s, err := stats.ScanProbability(c.k, c.n, c.w, 1)
		require.NoError(t, err)
		require.Equal(t, stats.Scan{P: c.p, Exact: true}, s, "k %d n %d w %g", c.k, c.n, c.w)
	}
}

func TestScanIsSimulatedFromTheSeedWhereTheSumIsTooLong(t *testing.T) {
	a, err := stats.ScanProbability(4, 16, 3./45, 7)
	require.NoError(t, err)
	require.False(t, a.Exact)
	require.Positive(t, a.StdErr)
	b, err := stats.ScanProbability(4, 16, 3./45, 7)
	require.NoError(t, err)
	require.Equal(t, a, b, "the same seed, the same answer")
}

func TestScanIsAProbabilityThatGrowsWithTheWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "n")
		k := rapid.IntRange(1, 8).Draw(t, "k")
		w := rapid.Float64Range(0.12, 1.2).Draw(t, "w")
		narrow, err := stats.ScanProbability(k, n, w, 1)
		if err != nil {
			t.Fatal(err)
		}
		wide, err := stats.ScanProbability(k, n, w*1.1, 1)
		if err != nil {
			t.Fatal(err)
		}
		if narrow.P < 0 || wide.P > 1 || narrow.P > wide.P+1e-9 {
			t.Fatalf("k %d n %d: %g at %g, %g at %g", k, n, narrow.P, w, wide.P, w*1.1)
		}
	})
}

func TestScanRefusesNonsense(t *testing.T) {
	for _, w := range []float64{0, -1, math.NaN()} {
		_, err := stats.ScanProbability(3, 5, w, 1)
		require.Error(t, err)
	}
	_, err := stats.ScanProbability(0, 5, .1, 1)
	require.Error(t, err)
}

func BenchmarkScanExact(b *testing.B) {
	for b.Loop() {
		_, _ = stats.ScanProbability(4, 10, .1, 1)
	}
}

func BenchmarkScanSimulated(b *testing.B) {
	for b.Loop() {
		_, _ = stats.ScanProbability(4, 16, 3./45, 1)
	}
}
