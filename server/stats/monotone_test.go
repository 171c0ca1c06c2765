package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

func TestMonotoneCurveNeverFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := []float64{0}, []float64{100}
		for i := range rapid.IntRange(4, 9).Draw(t, "n") {
			x = append(x, x[i]+rapid.Float64Range(0.1, 2).Draw(t, "dx"))
			y = append(y, y[i]+rapid.Float64Range(0, 30).Draw(t, "dy"))
		}
		m, err := stats.FitMonotone(x, y)
		if err != nil {
			t.Fatal(err)
		}
		last := math.Inf(-1)
		for i := range 201 {
			at := m.At(x[0] + (x[len(x)-1]-x[0])*float64(i)/200)
			if at < last-1e-9 {
				t.Fatalf("falls to %g after %g", at, last)
			}
			last = at
		}
	})
}

func TestMonotoneCurveMeetsItsPointsAndKnowsAStraightLine(t *testing.T) {
	x, y := []float64{1, 2, 4, 5, 7}, []float64{10, 20, 40, 50, 70}
	m, err := stats.FitMonotone(x, y)
	require.NoError(t, err)
	for i := range x {
		require.InDelta(t, y[i], m.At(x[i]), 1e-12)
	}
	require.InDelta(t, 30, m.At(3), 1e-12)
	require.InDelta(t, 0, m.Spread(), 1e-12, "each point lies on the curve through the others")
	require.Equal(t, 3, m.DF())
}

func TestThreePointsAreEnoughForACurve(t *testing.T) {
	m, err := stats.FitMonotone([]float64{1, 2, 3}, []float64{10, 10, 30})
	require.NoError(t, err)
	require.InDelta(t, 10, m.Spread(), 1e-12, "the middle misses the line of the others by 10")
	require.Equal(t, 1, m.DF())
}

func TestMonotoneCurveRefusesFallingPoints(t *testing.T) {
	for name, c := range map[string][2][]float64{
		"too few":      {{1, 2}, {1, 2}},
		"falls":        {{1, 2, 3}, {1, 3, 2}},
		"two at one x": {{1, 1, 2}, {1, 2, 3}},
		"lengths":      {{1, 2, 3}, {1, 2}},
	} {
		_, err := stats.FitMonotone(c[0], c[1])
		require.Error(t, err, name)
	}
}

// By hand: deviations ±1 about 10 and -2, 0, 2 about 20: (2+8)/(1+2).
func TestPooledSD(t *testing.T) {
	s, df := stats.PooledSD([][]float64{{9, 11}, {18, 20, 22}, {5}})
	require.InDelta(t, math.Sqrt(10.0/3), s, 1e-12)
	require.Equal(t, 3, df)
	s, df = stats.PooledSD([][]float64{{1}, {2}})
	require.Zero(t, s)
	require.Zero(t, df)
}
