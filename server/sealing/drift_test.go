package sealing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

var begin = time.Date(2026, 1, 5, 6, 0, 0, 0, time.UTC)

// monthly makes a series of readings 30 days apart, degrees Celsius.
func monthly(t testing.TB, temps ...float64) sealing.Series {
	var s sealing.Series
	for i, c := range temps {
		s.Readings = append(s.Readings, sealing.TimedReading{
			At: begin.AddDate(0, 0, 30*i), Face: q(t, fmt.Sprintf("%.1f °C", c))})
	}
	return s
}

func TestFewerThanSixReadingsAreTooFew(t *testing.T) {
	d, err := monthly(t, 180, 181, 182, 183, 184).Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.TooFew, d.Course)
	require.Equal(t, 5, d.Readings)
	require.Nil(t, d.Chart)
	_, ok := d.Leaves(limits(165, 185))
	require.False(t, ok, "no date from fewer than six")
}

// P by counting: one order in 720 rises throughout, one falls.
func TestSixRisingReadingsAreADrift(t *testing.T) {
	s := monthly(t, 180, 181, 182, 183, 184, 185)
	d, err := s.Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.Drifting, d.Course)
	require.InDelta(t, 2./720, d.P, 1e-12)
	require.True(t, d.Exact)
	require.InDelta(t, 1, d.PerMonth, 1e-9)
	at, ok := d.Leaves(limits(165, 190))
	require.True(t, ok)
	require.WithinDuration(t, begin.AddDate(0, 0, 300), at, time.Minute, "five months on")
	at, ok = d.Leaves(limits(165, 184))
	require.True(t, ok)
	require.WithinDuration(t, begin.AddDate(0, 0, 150), at, time.Minute, "it has left already")
	_, ok = d.Leaves(limits(165, 200))
	require.False(t, ok, "fifteen months is too far to tell")
}

func TestAFallingDriftLeavesAtTheLowerLimit(t *testing.T) {
	d, err := monthly(t, 180, 179, 178, 177, 176, 175).Assess()
	require.NoError(t, err)
	require.InDelta(t, -1, d.PerMonth, 1e-9)
	at, ok := d.Leaves(limits(170, 190))
	require.True(t, ok)
	require.WithinDuration(t, begin.AddDate(0, 0, 300), at, time.Minute)
}

func TestTheOrderOfEntryDoesNotMatterAndOneTimeIsOneReading(t *testing.T) {
	s := monthly(t, 180, 181, 182, 183, 184, 185)
	s.Readings = append(s.Readings, s.Readings[2])
	s.Readings[0], s.Readings[6] = s.Readings[6], s.Readings[0]
	d, err := s.Assess()
	require.NoError(t, err)
	require.Equal(t, 6, d.Readings)
	require.Equal(t, sealing.Drifting, d.Course)
}

func TestAShiftLeavesTheLimitsOfTheMovingAverage(t *testing.T) {
	s := monthly(t, 180, 181, 179, 186, 185, 187, 186, 185)
	s.Expected, s.Spread = q(t, "180 °C"), q(t, "1.8 °F")
	d, err := s.Assess()
	require.NoError(t, err)
	// By hand: z3 = -.04, z4 = 1.168, z5 = 1.9344 over 3/3 sqrt(1-.8^10) = .945
	require.Equal(t, 3, d.FirstOut)
	require.InDelta(t, 181.168, d.Chart[3].Z, 1e-9)
	require.NotEqual(t, sealing.Steady, d.Course)

	s = monthly(t, 190, 180, 181, 179, 180, 181)
	s.Expected, s.Spread = q(t, "180 °C"), q(t, "1 °C")
	d, err = s.Assess()
	require.NoError(t, err)
	require.Zero(t, d.FirstOut)
	require.Equal(t, sealing.Shifted, d.Course)
}

func TestScatterAloneIsSteady(t *testing.T) {
	d, err := monthly(t, 180, 182, 179, 181, 180, 179, 181, 182, 180).Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.Steady, d.Course)
	require.Equal(t, -1, d.FirstOut)
	_, ok := d.Leaves(limits(165, 181))
	require.False(t, ok, "no date for what does not drift")
	d, err = monthly(t, 180, 180, 180, 180, 180, 180).Assess()
	require.NoError(t, err)
	require.Equal(t, sealing.Steady, d.Course, "readings that never change")
}

func TestASeriesRefusesWhatIsNoTemperature(t *testing.T) {
	s := monthly(t, 180, 181, 182, 183, 184, 185)
	s.Readings[3].Face = q(t, "7")
	_, err := s.Assess()
	require.True(t, fault.Is(err, fault.Invalid))
	s = monthly(t, 180, 181, 182, 183, 184, 185)
	s.Spread = q(t, "0 °C")
	_, err = s.Assess()
	require.True(t, fault.Is(err, fault.Invalid))
}
