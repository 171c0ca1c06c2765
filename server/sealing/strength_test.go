package sealing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

func strips(t testing.TB, typed ...string) (all []sealing.Quantity) {
	for _, s := range typed {
		all = append(all, q(t, s))
	}
	return all
}

// By hand: ten strips of mean 2.5 and standard deviation sqrt(0.006/9); the
// one-sided 95/95 factor at 10 is 2.91096341 (published tables). The minimum is
// EN 868-5, 4.5.1, note, from memory: 1.5 N/15 mm for steam.
func TestSealStrengthHasALowerBound(t *testing.T) {
	test := sealing.StrengthTest{Minimum: q(t, "1.5 N/15 mm"), Strips: strips(t,
		"2.47 N/15 mm", "2.53 N/15 mm", "2.48 N/15 mm", "2.52 N/15 mm", "2.48 N/15 mm",
		"2.52 N/15 mm", "2.47 N/15 mm", "2.53 N/15 mm", "2.48 N/15 mm", "2.52 N/15 mm")}
	s, err := test.Assess()
	require.NoError(t, err)
	require.InDelta(t, 2.5, s.Mean, 1e-12)
	require.InDelta(t, math.Sqrt(0.006/9), s.SD, 1e-9)
	require.InDelta(t, 2.5-2.91096341*math.Sqrt(0.006/9), s.Bound, 1e-9)
	require.Equal(t, sealing.StrongEnough, s.Finding)
	require.Empty(t, s.Warnings)

	test.Minimum = q(t, "2.46 N/15 mm")
	s, err = test.Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.NotShown, s.Finding, "every strip was, the bound is not")

	test.Minimum = q(t, "2.47 N/15 mm")
	s, err = test.Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.NotShown, s.Finding, "a strip at the minimum is not below it")

	test.Minimum = q(t, "2.475 N/15 mm")
	s, err = test.Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.TooWeak, s.Finding)
}

func TestSealStrengthTakesPoundsPerInch(t *testing.T) {
	test := sealing.StrengthTest{Minimum: q(t, "1.5 N/15 mm"),
		Strips: strips(t, "1 lbf/in", "1.1 lbf/in", "2.8 N/15 mm")}
	s, err := test.Assess()
	require.NoError(t, err)
	require.InDelta(t, 2.62690252869715, s.Lowest, 1e-12) // NIST SP 811
	require.Equal(t, sealing.FewStrips, s.Warnings[0].Code)
}

func TestSealStrengthRefuses(t *testing.T) {
	minimum := q(t, "1.5 N/15 mm")
	for name, test := range map[string]sealing.StrengthTest{
		"one strip":    {Strips: strips(t, "2 N/15 mm"), Minimum: minimum},
		"all alike":    {Strips: strips(t, "2 N/15 mm", "2.0 N/15 mm"), Minimum: minimum},
		"zero":         {Strips: strips(t, "2 N/15 mm", "0 N/15 mm"), Minimum: minimum},
		"a length":     {Strips: strips(t, "2 N/15 mm", "2 mm"), Minimum: minimum},
		"empty strip":  {Strips: strips(t, "2 N/15 mm", ""), Minimum: minimum},
		"no minimum":   {Strips: strips(t, "2 N/15 mm", "2.1 N/15 mm")},
		"minimum of 0": {Strips: strips(t, "2 N/15 mm", "2.1 N/15 mm"), Minimum: q(t, "0 N/15 mm")},
		"half": {Strips: strips(t, "2 N/15 mm", "2.1 N/15 mm"), Minimum: minimum,
			Share: 0.5},
	} {
		_, err := test.Assess()
		require.True(t, fault.Is(err, fault.Invalid), "%s gave %v", name, err)
	}
}

// Source: EN 868-5:2009, 4.3.2: at least 6 mm in all, ribs added up.
func TestSealWidthAddsUpTheRibs(t *testing.T) {
	ribs := strips(t, "1.5 mm", "1.5 mm", "1,5 mm", "1 1/2 mm")
	total, enough, err := sealing.SealWidth(ribs, q(t, "6 mm"))
	require.NoError(t, err)
	require.Equal(t, "6 mm", total.String())
	require.True(t, enough, "exactly enough is enough")
	_, enough, err = sealing.SealWidth(strips(t, "5.999 mm"), q(t, "6 mm"))
	require.NoError(t, err)
	require.False(t, enough)
	total, enough, err = sealing.SealWidth(strips(t, "1/4 in"), q(t, "6 mm"))
	require.NoError(t, err)
	require.Equal(t, "6.35 mm", total.String())
	require.True(t, enough)
	_, _, err = sealing.SealWidth(strips(t, "0 mm"), q(t, "6 mm"))
	require.True(t, fault.Is(err, fault.Invalid))
	_, _, err = sealing.SealWidth(strips(t, "6 mm"), sealing.Quantity{})
	require.True(t, fault.Is(err, fault.Invalid))
}
