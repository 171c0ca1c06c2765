package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/stats"
)

// Source: JCGM 106:2012, 7.4 and its formula, recomputed to full precision.
func TestConformityAgreesWithJCGM106(t *testing.T) {
	for _, c := range []struct{ y, u, low, high, want, within float64 }{
		{168, 1, 170, 190, .0227501319482, 1e-12},
		{170, 1, 170, 190, .5, 1e-12},
		{171, 1, 170, 190, .841344746069, 1e-12},
		{172, 1, 170, 190, .977249868052, 1e-12},
		{188.5, 1, 170, 190, .933192798731, 1e-12},
		{171, 2, 170, 190, .691462461274, 1e-12},
		{175, 2, 170, 190, .993790334674, 1e-12},
		{180, 2, 170, 190, .999999426697, 1e-12},
		{176.6448536, 1, 175, 185, .94999999722, 1e-11},
		{176.644853627, 1, 175, 185, .95, 1e-11},
		{180, 5, 175, 185, .682689492137, 1e-12}, // both tails count: 1 - 2 Phi(-1)
	} {
		got := stats.Conformity(c.y, c.u, c.low, c.high).Inside()
		require.InDelta(t, c.want, got, c.within, "y %g u %g", c.y, c.u)
	}
}

// Source: ILAC-G8:09/2019, guard band w = r U with U = 2 u: the risk of an
// accepted value that lies on the acceptance limit.
func TestRiskAtTheAcceptanceLimit(t *testing.T) {
	for r, risk := range map[float64]float64{1: .02275013195, .83: .04845722627} {
		tails := stats.Conformity(170+2*r, 1, 170, math.Inf(1))
		require.InDelta(t, risk, tails.Below+tails.Above, 1e-11)
	}
}

func TestConformityWithoutUncertaintyIsCertain(t *testing.T) {
	require.Equal(t, 1.0, stats.Conformity(170, 0, 170, 190).Inside())
	require.Equal(t, 1.0, stats.Conformity(190, 0, 170, 190).Inside())
	require.Equal(t, 0.0, stats.Conformity(190.1, 0, 170, 190).Inside())
	require.Equal(t, 0.0, stats.Conformity(169.9, 0, 170, 190).Inside())
}

func TestTailsKeepTheirDigitsFarOut(t *testing.T) {
	// Phi(-10) = 7.619853024160527e-24; source: Abramowitz and Stegun, table
	// 26.2, gives -log10 Q(10) = 23.11805.
	tails := stats.Conformity(180, 1, 170, 190)
	require.InDelta(t, 23.11805, -math.Log10(tails.Below), 5e-6)
	require.Equal(t, tails.Below, tails.Above)
}

// Sources: t quantiles of NIST/SEMATECH e-Handbook 1.3.6.7.2; JCGM 100:2008,
// table G.2.
func TestTQuantiles(t *testing.T) {
	table := map[int]float64{1: 12.706, 2: 4.303, 3: 3.182, 10: 2.228, 100: 1.984}
	for df, want := range table {
		require.InDelta(t, want, stats.TQuantile(0.975, df), 5e-4)
	}
	require.InDelta(t, 1.959963984540054, stats.NormalQuantile(0.975), 1e-12)
}

func TestConformityShrinksWithMoreUncertaintyOrANarrowerWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(100, 180).Draw(t, "low")
		high := low + rapid.Float64Range(1, 50).Draw(t, "width")
		y := low + (high-low)*rapid.Float64Range(0, 1).Draw(t, "inside")
		u := rapid.Float64Range(0.1, 20).Draw(t, "u")
		cut := (high - low) * rapid.Float64Range(0, 1).Draw(t, "cut")
		p := stats.Conformity(y, u, low, high).Inside()
		if q := stats.Conformity(y, u*1.5, low, high).Inside(); q > p+1e-12 {
			t.Fatalf("more u: %g after %g", q, p)
		}
		if q := stats.Conformity(y, u, low, high-cut).Inside(); q > p+1e-12 {
			t.Fatalf("narrower: %g after %g", q, p)
		}
	})
}
