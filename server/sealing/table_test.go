package sealing_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

// q reads a quantity of any dimension as typed: bare numbers are marks, "" is
// missing.
func q(t testing.TB, typed string) sealing.Quantity {
	if typed == "" {
		return sealing.Quantity{}
	}
	for _, unit := range []sealing.Unit{sealing.Mark, sealing.Celsius, sealing.Seconds,
		sealing.NewtonsPer15mm, sealing.Millimetres} {
		if got, err := sealing.ParseQuantity(typed, unit); err == nil {
			return got
		}
	}
	require.Fail(t, "not a quantity", typed)
	return sealing.Quantity{}
}

func accuracy(t testing.TB, typed string) sealing.Uncertainty {
	return sealing.Uncertainty{Value: q(t, typed), Stated: sealing.Accuracy}
}

func standard(t testing.TB, typed string) sealing.Uncertainty {
	return sealing.Uncertainty{Value: q(t, typed), Stated: sealing.Standard}
}

// dial makes a table of a dial from "position face" pairs.
func dial(t testing.TB, u sealing.Uncertainty, pairs ...string) sealing.Table {
	return tableOf(t, sealing.DialBar, u, pairs...)
}

func tableOf(
	t testing.TB, kind sealing.Kind, u sealing.Uncertainty, pairs ...string,
) sealing.Table {
	table := sealing.Table{Kind: kind}
	for _, pair := range pairs {
		position, face, ok := strings.Cut(pair, " = ")
		require.True(t, ok)
		table.Points = append(table.Points, sealing.Point{
			Position: q(t, position), Face: q(t, face), Uncertainty: u})
	}
	return table
}

// placed says where each point was measured.
func placed(table sealing.Table, places ...sealing.Place) {
	for i, place := range places {
		table.Points[i].Place = place
	}
}

func compile(t testing.TB, table sealing.Table) *sealing.Curve {
	c, err := table.Compile()
	require.NoError(t, err)
	return c
}

func at(t testing.TB, c *sealing.Curve, position string) sealing.Prediction {
	ps, err := c.At(q(t, position))
	require.NoError(t, err)
	require.Len(t, ps, 1)
	return ps[0]
}

func TestTwoPositionsAreJoinedWithTheUncertaintyOfTheInputs(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C")
	table.Points[1].Uncertainty = standard(t, "4 °C")
	c := compile(t, table)
	p := at(t, c, "6 1/2")
	require.InDelta(t, 167.5, p.T, 1e-9)
	require.InDelta(t, 2.5, p.U, 1e-9)
	require.Equal(t, sealing.TwoPositions, c.Fits()[0].Basis)
}

// By hand: three points, residuals 1, -2, 1 about 150 + 10 (p-6), so s = sqrt 6
// on one degree of freedom; at the middle s² (1 + 1/3), widened by t/z =
// 12.706/1.960 (JCGM 100:2008, table G.2), and the reference's 1.5.
func TestThreePositionsAreALineWithTQuantiles(t *testing.T) {
	c := compile(t, dial(t, standard(t, "1.5 °C"), "5 = 141 °C", "6 = 148 °C", "7 = 161 °C"))
	p := at(t, c, "6")
	require.InDelta(t, 150, p.T, 1e-9)
	s := math.Sqrt(6*(1+1./3)) * 12.7062 / 1.95996
	require.InDelta(t, math.Hypot(s, 1.5), p.U, 1e-3)
	fit := c.Fits()[0]
	require.Equal(t, sealing.StraightLine, fit.Basis)
	require.Equal(t, "chi²", fit.Misfit.Method)
}

// Source: JCGM 100:2008, H.3: the thermometer's own calibration as the table of
// a display. At 25 shown the correction is -0.1712 + 0.00218 (25-20), and the
// uncertainty s sqrt(1 + 1/11 + (25-24.0085)²/Sxx), with t(0.975, 9) = 2.262.
func TestATableAgreesWithTheThermometerOfTheGUM(t *testing.T) {
	corrections := []struct{ t, b float64 }{
		{21.521, -0.171}, {22.012, -0.169}, {22.512, -0.166}, {23.003, -0.159},
		{23.507, -0.164}, {23.999, -0.165}, {24.513, -0.156}, {25.002, -0.157},
		{25.503, -0.159}, {26.010, -0.161}, {26.511, -0.160},
	}
	var pairs []string
	mean, sxx := 0.0, 0.0
	for _, c := range corrections {
		pairs = append(pairs, fmt.Sprintf("%.3f °C = %.3f °C", c.t, c.t+c.b))
		mean += c.t / 11
	}
	for _, c := range corrections {
		sxx += (c.t - mean) * (c.t - mean)
	}
	c := compile(t, tableOf(t, sealing.DisplayBar, standard(t, "0.004 °C"), pairs...))
	require.Equal(t, sealing.StraightLine, c.Fits()[0].Basis)
	p := at(t, c, "25 °C")
	require.InDelta(t, 25-0.1712+0.00218*5, p.T, 1e-4)
	s := 0.0035 * math.Sqrt(1+1./11+(25-mean)*(25-mean)/sxx) * 2.262 / 1.960
	require.InDelta(t, math.Hypot(s, 0.004), p.U, 1e-4)
}

func TestTheEndsOfWhatWasMeasuredAreKnown(t *testing.T) {
	c := compile(t, dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C"))
	require.InDelta(t, 160, at(t, c, "6").T, 1e-9)
	require.InDelta(t, 190, at(t, c, "8").T, 1e-9)
	require.True(t, c.Known(q(t, "8")))
	require.False(t, c.Known(q(t, "8.1")))
	require.False(t, c.Known(q(t, "5.9")))
	require.False(t, c.Known(q(t, "180 °C")))
}

func TestALevelStretchIsNotFalling(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160.1 °C", "7 = 160.1 °C", "8 = 190 °C")
	table.Points[0].Uncertainty = standard(t, "0.7 °C")
	compile(t, table)
}

func TestABendOverFivePositionsIsInterpolated(t *testing.T) {
	pairs := []string{"4 = 120 °C", "5 = 150 °C", "6 = 170 °C", "7 = 182 °C", "8 = 188 °C"}
	c := compile(t, dial(t, standard(t, "1 °C"), pairs...))
	fit := c.Fits()[0]
	require.True(t, fit.Bent)
	require.Equal(t, sealing.Interpolated, fit.Basis)
	require.InDelta(t, 170, at(t, c, "6").T, 1e-9)

	c = compile(t, dial(t, standard(t, "1 °C"), pairs[1:]...))
	fit = c.Fits()[0]
	require.True(t, fit.Bent, "the bend is told")
	require.Equal(t, sealing.StraightLine, fit.Basis, "four positions cannot settle it")
}

// Repeats decide by their own scatter: the same bend is hidden in a wide one.
func TestRepeatsDecideTheBendByTheFTest(t *testing.T) {
	pairs := []string{"4 = 120 °C", "5 = 150 °C", "6 = 170 °C", "7 = 182 °C", "8 = 188 °C"}
	repeats := func(by float64) (all []string) {
		for i, p := range pairs {
			for _, sign := range []float64{-1, 1} {
				face := []float64{120, 150, 170, 182, 188}[i] + sign*by
				all = append(all, fmt.Sprintf("%s = %.1f °C", p[:1], face))
			}
		}
		return all
	}
	near := compile(t, dial(t, standard(t, "1 °C"), repeats(1)...)).Fits()[0]
	require.Equal(t, "F", near.Misfit.Method)
	require.Equal(t, sealing.Interpolated, near.Basis)
	wide := compile(t, dial(t, standard(t, "1 °C"), repeats(25)...)).Fits()[0]
	require.Equal(t, sealing.StraightLine, wide.Basis)
}

func TestASwitchHasItsPositionsAndNothingBetween(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "1 = 158 °C", "1 = 162 °C", "2 = 178 °C", "2 = 182 °C")
	table.Apart = true
	c := compile(t, table)
	p := at(t, c, "2")
	require.InDelta(t, 180, p.T, 1e-9)
	// By hand: pooled s² = (8+8)/2 on 2 degrees of freedom, t/z = 4.303/1.960.
	require.InDelta(t, math.Hypot(math.Sqrt(8*1.5)*4.3027/1.95996, 2), p.U, 1e-3)
	_, err := c.At(q(t, "1 1/2"))
	require.True(t, fault.Is(err, fault.Invalid))

	one := dial(t, standard(t, "2 °C"), "1 = 170 °C")
	one.Apart = true
	require.InDelta(t, 2, at(t, compile(t, one), "1").U, 1e-12, "that position only")
}

func TestPlacesAreFittedApartAndAllMustCover(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C", "6 = 150 °C", "7 = 170 °C")
	placed(table, sealing.Left, sealing.Left, sealing.Right, sealing.Right)
	c := compile(t, table)
	ps, err := c.At(q(t, "6½"))
	require.NoError(t, err)
	require.Equal(t, []sealing.Place{sealing.Left, sealing.Right},
		[]sealing.Place{ps[0].Place, ps[1].Place})
	require.False(t, c.Known(q(t, "7 1/2")), "right was measured up to 7")
	_, err = c.At(q(t, "7 1/2"))
	require.ErrorContains(t, err, "7½ lies outside what was measured, 6 to 7")

	table.Points = table.Points[:3]
	_, err = table.Compile()
	require.ErrorContains(t, err, "at least two positions right")
}

func TestCompileRefusesAndNamesThePoints(t *testing.T) {
	good := standard(t, "2 °C")
	missing := sealing.Uncertainty{}
	for name, c := range map[string]struct {
		table          sealing.Table
		field, message string
	}{
		"no points": {sealing.Table{Kind: sealing.DialBar}, "points", "at least two positions"},
		"one position, twice": {dial(t, good, "6 = 160 °C", "6.0 = 162 °C"), "points",
			"at least two positions"},
		"falling": {dial(t, good, "6 = 160 °C", "7 = 158 °C", "8 = 190 °C"), "points",
			"7 (158 °C) is cooler than 6 (160 °C)"},
		"a Fahrenheit typed as Celsius": {dial(t, good, "6 = 356 °C", "7 = 190 °C"), "points",
			"7 (190 °C) is cooler than 6 (356 °C)"},
		"uncertainty missing": {dial(t, missing, "6 = 160 °C", "7 = 170 °C"),
			"points.1.uncertainty", "Point 1, 6 (160 °C)"},
		"uncertainty empty": {dial(t, accuracy(t, ""), "6 = 160 °C", "7 = 170 °C"),
			"points.1.uncertainty", "how well"},
		"uncertainty zero": {dial(t, standard(t, "0 °C"), "6 = 160 °C", "7 = 170 °C"),
			"points.1.uncertainty", "above zero"},
		"uncertainty in seconds": {dial(t, standard(t, "2 s"), "6 = 160 °C", "7 = 170 °C"),
			"points.1.uncertainty", "how well"},
		"face in seconds": {dial(t, good, "6 = 160 °C", "7 = 170 s"), "points.2.face",
			"°C or °F"},
		"mark on a display": {tableOf(t, sealing.DisplayBar, good, "6 = 160 °C"),
			"points.1.position", "a temperature"},
		"degrees on a dial": {dial(t, good, "160 °C = 160 °C"), "points.1.position", "a mark"},
		"impulse timer": {tableOf(t, sealing.ImpulseBar, good, "6 = 160 °C"), "kind",
			"ladder trial"},
	} {
		_, err := c.table.Compile()
		var f *fault.Error
		require.ErrorAs(t, err, &f, name)
		require.Equal(t, fault.Invalid, f.Code, name)
		require.Equal(t, c.field, f.Field, name)
		require.Contains(t, f.Message, c.message, name)
	}
}

func TestCompileRefusesAnUnknownPlace(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C")
	table.Points[0].Place = "behind"
	_, err := table.Compile()
	require.True(t, fault.Is(err, fault.Invalid))
}

func TestATableQuestionsAMixUpOfScales(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160 °C", "7 = 170 °C", "8 = 356 °C")
	ws := table.Questions()
	require.Len(t, ws, 1)
	require.Equal(t, sealing.UnitMixUp, ws[0].Code)
	_, err := table.Compile()
	require.NoError(t, err, "questioned, not refused")

	ws = dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 374 °F").Questions()
	require.Len(t, ws, 1)
	require.Equal(t, sealing.TwoScales, ws[0].Code)
}

// Source: JCGM 100:2008, 4.3.7: limits ±a give u = a/sqrt 3; 9 °F is 5 °C.
func TestUncertaintiesBecomeStandardOnes(t *testing.T) {
	u, err := accuracy(t, "9 °F").Celsius()
	require.NoError(t, err)
	require.InDelta(t, 5/math.Sqrt(3), u, 1e-12)
	u, err = sealing.Uncertainty{Value: q(t, "3 °C"), Stated: sealing.Expanded}.Celsius()
	require.NoError(t, err)
	require.InDelta(t, 1.5, u, 1e-12)
}

func TestSamplesSpanWhatWasMeasured(t *testing.T) {
	c := compile(t, dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C"))
	samples := c.Samples(sealing.WholeBar, 5)
	require.Len(t, samples, 5)
	require.Equal(t, [2]float64{6, 8}, [2]float64{samples[0].X, samples[4].X})
	require.InDelta(t, 175, samples[2].T, 1e-9)
	require.Nil(t, c.Samples(sealing.Left, 5))
}
