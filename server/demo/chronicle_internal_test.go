package demo

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

func endingAt(t *testing.T, end string) *chronicle {
	t.Helper()
	at, err := time.Parse(time.RFC3339, end)
	require.NoError(t, err)
	c := newChronicle(at)
	return &c
}

func TestTheNightBelongsToTheDayThatItEnds(t *testing.T) {
	c := endingAt(t, "2026-11-25T04:59:00-05:00")
	require.Equal(t, "2026-11-24", c.today.String())
	require.Equal(t, "2026-11-24T23:35:00-05:00", c.moment(c.today, "23:35").Format(time.RFC3339))
	require.Equal(t, "2026-11-25T02:40:00-05:00", c.moment(c.today, "02:40").Format(time.RFC3339))

	c = endingAt(t, "2026-11-25T05:00:00-05:00")
	require.Equal(t, "2026-11-25", c.today.String())
	require.Equal(t, "2026-08-27", c.day(Days).String())
}

func TestAWorkingDayIsNeverOnAWeekend(t *testing.T) {
	c := endingAt(t, "2026-11-25T12:00:00-05:00") // a Wednesday
	for back, want := range map[int]string{1: "2026-11-24", 2: "2026-11-23", 3: "2026-11-20",
		4: "2026-11-20", 5: "2026-11-20"} {
		require.Equal(t, want, c.weekday(back).String())
	}
	friday, err := record.ParseDate("2026-11-20")
	require.NoError(t, err)
	require.Equal(t, "2026-11-23", nextWeekday(friday).String())
}

func TestWhatComesAfterTheEndIsNotTold(t *testing.T) {
	c := endingAt(t, "2026-11-25T12:00:00-05:00")
	var told []string
	for _, clock := range []string{"12:01", "12:00", "05:30", "02:40"} {
		c.at(c.today, clock, func() { told = append(told, clock) })
	}
	for _, e := range c.told() {
		e.do()
	}
	require.Equal(t, []string{"05:30", "12:00"}, told)
}

func TestATimeThatNoClockShowsIsAMistakeOfTheScript(t *testing.T) {
	c := endingAt(t, "2026-11-25T12:00:00-05:00")
	require.Panics(t, func() { c.moment(c.today, "noon") })
}
