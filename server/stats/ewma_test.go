package stats_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/stats"
)

// Source: NIST/SEMATECH e-Handbook 6.3.2.4; the limits to full precision from
// its inputs (the handbook truncates the lower one).
func TestEWMAAgreesWithTheHandbook(t *testing.T) {
	d := reference(t, "ewma.csv")
	e := stats.EWMA{Lambda: 0.3, Width: 3, Center: 50, Sigma: 2.0539}
	points := e.Run(d["value"])
	for i, want := range d["ewma"] {
		require.InDelta(t, want, points[i].Z, 0.005+1e-9, "point %d", i+1)
		require.False(t, points[i].Outside(), "point %d: the first leaves no limit that opens", i+1)
	}
	low, high := e.Limits()
	require.InDelta(t, 52.5884317381, high, 1e-10)
	require.InDelta(t, 47.4115682619, low, 1e-10)
}

// By hand: after one value the average is Lambda times it, and so is its sd.
func TestTheFirstLimitsAreThoseOfOneValue(t *testing.T) {
	e := stats.EWMA{Lambda: 0.2, Width: 3, Center: 0, Sigma: 1}
	points := e.Run([]float64{3.1, 0})
	require.InDelta(t, 0.6, points[0].High, 1e-12)
	require.InDelta(t, 0.62, points[0].Z, 1e-12)
	require.True(t, points[0].Outside())
	require.InDelta(t, 3*0.2*1.2806248474865697, points[1].High, 1e-12) // sqrt(1 + .8²)
}

// Source: NIST/SEMATECH e-Handbook 6.3.2.2, flow-rate example: mean moving
// range 1.8778 of ten values, and d2 = 1.128.
func TestMovingRangeSD(t *testing.T) {
	flow := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	require.InDelta(t, 1.8778/1.128, stats.MovingRangeSD(flow), 5e-5)
	require.Zero(t, stats.MovingRangeSD([]float64{1}))
}
